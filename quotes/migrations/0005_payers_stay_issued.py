"""Who pays for a quote that has left draft stays as it is, whoever writes: by the triggers that hold its lines."""

from django.db import migrations

_EVENTS = [("insert", "new"), ("update", "old"), ("update", "new"), ("delete", "old")]
_TABLES = ("quotes_quotepayer", "quotes_payerrule")


def _triggers(table: str) -> str:
    # PostgreSQL gives the changed rows of one kind of statement to one trigger; an update has old ones and new ones.
    return "".join(
        f"CREATE TRIGGER {table}_stays_{event}_{rows} AFTER {event} ON {table} REFERENCING {rows} TABLE AS changed\n"
        "    FOR EACH STATEMENT EXECUTE FUNCTION quotes_parts_stay_issued();\n"
        for event, rows in _EVENTS
    )


def _drops(table: str) -> str:
    return "".join(f"DROP TRIGGER {table}_stays_{event}_{rows} ON {table};\n" for event, rows in _EVENTS)


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0017_payers_stay_issued"),
    ]
    dependencies = [("quotes", "0004_issued_quotes_stay")]

    operations = [
        *[migrations.RunSQL(_triggers(table), _drops(table)) for table in _TABLES],
        # They are replaced as a whole; none is ever changed.
        *[
            migrations.RunSQL(f"REVOKE UPDATE ON {table} FROM roof_app;", f"GRANT UPDATE ON {table} TO roof_app;")
            for table in _TABLES
        ],
    ]
