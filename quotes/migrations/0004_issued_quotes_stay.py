"""A quote that has left draft never changes but for its state, nor do its lines and hidden components, whoever writes."""

from django.db import migrations

_QUOTE = """
CREATE FUNCTION quotes_quote_stays_issued() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    kept quotes_quote := NEW;
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'quote % is %: only a draft is deleted', OLD.number, OLD.state USING ERRCODE = 'check_violation';
    END IF;
    -- What may change is put back; whatever differs then was not to change.
    kept.version := OLD.version;
    IF OLD.state = 'draft' THEN
        kept.issued_at := OLD.issued_at;
        kept.issued_by := OLD.issued_by;
    END IF;
    IF NEW.state <> 'draft' THEN
        kept.state := OLD.state;
    END IF;
    IF kept IS DISTINCT FROM OLD THEN
        RAISE EXCEPTION 'quote % was issued and stays as it is', OLD.number USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER quotes_quote_stays_issued BEFORE UPDATE ON quotes_quote
    FOR EACH ROW WHEN (OLD.state <> 'draft' OR NEW.state <> 'draft') EXECUTE FUNCTION quotes_quote_stays_issued();
CREATE TRIGGER quotes_quote_is_not_deleted BEFORE DELETE ON quotes_quote
    FOR EACH ROW WHEN (OLD.state <> 'draft') EXECUTE FUNCTION quotes_quote_stays_issued();
"""
_QUOTE_BACK = """
DROP TRIGGER quotes_quote_is_not_deleted ON quotes_quote;
DROP TRIGGER quotes_quote_stays_issued ON quotes_quote;
DROP FUNCTION quotes_quote_stays_issued();
"""

# One look at the quotes for each statement, however many lines it writes. Their rows are held, so that nobody issues the quote
# between this look and the end of the transaction.
_PARTS = """
CREATE FUNCTION quotes_parts_stay_issued() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    quote record;
BEGIN
    FOR quote IN
        SELECT number, state FROM quotes_quote
        WHERE (shop_id, id) IN (SELECT DISTINCT shop_id, quote_id FROM changed) FOR SHARE
    LOOP
        IF quote.state <> 'draft' THEN
            RAISE EXCEPTION 'quote % is %: its parts stay as they are', quote.number, quote.state
                USING ERRCODE = 'check_violation';
        END IF;
    END LOOP;
    RETURN NULL;
END
$$;
"""


def _triggers(table: str) -> str:
    # PostgreSQL gives the changed rows of one kind of statement to one trigger; an update has old ones and new ones.
    return "".join(
        f"CREATE TRIGGER {table}_stays_{event}_{rows} AFTER {event} ON {table} REFERENCING {rows} TABLE AS changed\n"
        "    FOR EACH STATEMENT EXECUTE FUNCTION quotes_parts_stay_issued();\n"
        for event, rows in _EVENTS
    )


def _drops(table: str) -> str:
    return "".join(f"DROP TRIGGER {table}_stays_{event}_{rows} ON {table};\n" for event, rows in _EVENTS)


_EVENTS = [("insert", "new"), ("update", "old"), ("update", "new"), ("delete", "old")]
_TABLES = ("quotes_quoteline", "quotes_quotecomponent")


class Migration(migrations.Migration):
    replaces = [
        ("quotes", "0009_issued_quotes_stay"),
    ]
    dependencies = [("quotes", "0003_locked_surveys")]

    operations = [
        migrations.RunSQL(_QUOTE, _QUOTE_BACK),
        migrations.RunSQL(_PARTS, "DROP FUNCTION quotes_parts_stay_issued();"),
        *[migrations.RunSQL(_triggers(table), _drops(table)) for table in _TABLES],
        # A draft that is saved again gets new parts; none is ever changed.
        *[
            migrations.RunSQL(f"REVOKE UPDATE ON {table} FROM roof_app;", f"GRANT UPDATE ON {table} TO roof_app;")
            for table in _TABLES
        ],
    ]
