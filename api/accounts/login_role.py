"""May this process serve, or could its login role read every shop's rows?

Row policies do not bind a superuser, a role with BYPASSRLS, or (without FORCE) the owner of a table. With
such a login the service would look healthy while every policy is void, so it refuses to start. The same holds
where the login may change what is only added to: a dump that is restored carelessly leaves it so.
"""

from collections.abc import Sequence

from django.apps import apps
from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connection, connections

from costbase.models.tables import row_policy_of

# A role that the login may become with SET ROLE counts as the login itself.
_UNBOUND_ROLES = """
SELECT rolname FROM pg_roles
WHERE (rolsuper OR rolbypassrls) AND pg_has_role(current_user, oid, 'MEMBER') ORDER BY rolname
"""
_UNGUARDED_TABLES = """
SELECT name FROM unnest(%s::text[]) AS name
WHERE NOT EXISTS (SELECT FROM pg_class c WHERE c.oid = to_regclass(name) AND c.relrowsecurity
                  AND c.relforcerowsecurity AND EXISTS (SELECT FROM pg_policy p WHERE p.polrelid = c.oid))
"""
_CHANGEABLE_HISTORY = """
SELECT name FROM unnest(%s::text[]) AS name
WHERE has_table_privilege(to_regclass(name), 'UPDATE') OR has_table_privilege(to_regclass(name), 'DELETE')
"""


class UnboundLogin(Exception):
    """The database login is not bound by row policies; the message says why."""


def login_faults() -> list[str]:
    """Why row policies do not bind this login, or it could rewrite history; empty when all is well."""
    with connection.cursor() as cursor:
        cursor.execute(_UNBOUND_ROLES)
        roles = [name for (name,) in cursor.fetchall()]
        cursor.execute(_UNGUARDED_TABLES, [_tables_with_policies()])
        tables = [name for (name,) in cursor.fetchall()]
        cursor.execute(_CHANGEABLE_HISTORY, [_tables_to_add_to()])
        # The owner of the tables may do anything with them, and is refused already.
        changeable = [] if roles else [name for (name,) in cursor.fetchall()]
    bypasses = "which bypasses row policies; expected the role roof_app"
    return [
        *(f"the login is or may become {name}, {bypasses}" for name in roles),
        *(f"row security is not forced on the table {name}; run the migrations" for name in tables),
        *(f"the login may change the table {name}, which is only added to; restore the grants" for name in changeable),
    ]


def _tables_with_policies() -> list[str]:
    return sorted(model._meta.db_table for model in apps.get_models() if row_policy_of(model))


def _tables_to_add_to() -> list[str]:
    """History and what else is only ever inserted."""
    return sorted(model._meta.db_table for model in apps.get_models() if getattr(model, "append_only", False))


def refuse_unbound_login() -> None:
    """Returns when row policies bind this login, and leaves no connection open.

    Raises:
        UnboundLogin: they do not.
    """
    try:
        faults = login_faults()
    finally:
        connection.close()
    if faults:
        raise UnboundLogin("; ".join(faults))


# A deployment check: `migrate` runs all others, and it works before the tables are there and as their owner.
@register(Tags.database, deploy=True)
def check_login(databases: Sequence[str] | None = None, **_: object) -> list[CheckMessage]:
    """``manage.py check --deploy --database default`` says the same."""
    if not databases or connections["default"].alias not in databases:
        return []
    return [Error(fault, id="accounts.E001") for fault in login_faults()]
