"""Every table is in one class, and the catalogue of the migrated database proves what the class promises.

A new table is named here by hand: whoever adds one says whose its rows are.
"""

import re
from collections.abc import Sequence
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection, models, transaction

from api.accounts.login_role import UnboundLogin, login_faults, refuse_unbound_login
from api.environment import DatabaseUrl
from costbase.models import ShopOwned
from costbase.models.tables import HistoryEvent, row_policy_of
from tests.conftest import log_in

ROOT = Path(__file__).resolve().parents[2]

# Rows of one shop: seen and written in its scope only.
SHOP = {
    "costbase_shopedition",
    "costbase_shopeditionevent",
    "costbase_shopimport",
    "costbase_shopimportrow",
    "quotes_bill",
    "quotes_billcounter",
    "quotes_billline",
    "quotes_changeorder",
    "quotes_changeorderevent",
    "quotes_changeorderline",
    "quotes_changeorderpacks",
    "quotes_changeorderway",
    "quotes_closedcomponent",
    "quotes_closedjob",
    "quotes_coach",
    "quotes_coachevent",
    "quotes_consent",
    "quotes_consentgiver",
    "quotes_countedsettlement",
    "quotes_customer",
    "quotes_dateproposal",
    "quotes_dateproposalevent",
    "quotes_estimatedecision",
    "quotes_estimatedecisionevent",
    "quotes_fleet",
    "quotes_fleetevent",
    "quotes_foundnote",
    "quotes_frozencostbase",
    "quotes_idempotencykey",
    "quotes_job",
    "quotes_jobcomponent",
    "quotes_jobcounter",
    "quotes_jobevent",
    "quotes_jobforecast",
    "quotes_jobline",
    "quotes_leaktest",
    "quotes_ledgerentry",
    "quotes_linkanswer",
    "quotes_openingentry",
    "quotes_overrunpolicy",
    "quotes_payerrule",
    "quotes_payerruleevent",
    "quotes_payment",
    "quotes_quote",
    "quotes_quotecomponent",
    "quotes_quotecounter",
    "quotes_quoteevent",
    "quotes_quoteline",
    "quotes_quotepayer",
    "quotes_quotepayerevent",
    "quotes_review",
    "quotes_reviewevent",
    "quotes_secondestimate",
    "quotes_secondestimateevent",
    "quotes_secondestimateline",
    "quotes_secondestimatelineevent",
    "quotes_settlement",
    "quotes_settlementevent",
    "quotes_showndocument",
    "quotes_stepoffer",
    "quotes_stepofferevent",
    "quotes_survey",
    "quotes_surveyevent",
    "quotes_triedquote",
    "quotes_withdrawal",
    "quotes_warranty",
    "quotes_warrantyreturn",
    "quotes_worker",
    "quotes_workerevent",
}

# Rows of one network: seen in its own scope and its shops', written in its own only.
NETWORK = {
    "costbase_networkedition",
    "costbase_networkeditionevent",
    "costbase_networkimport",
    "costbase_networkimportrow",
    "quotes_networkidempotencykey",
}

# Read before any scope is open, to find out which one to open. Why each cannot have a row policy:
IDENTITY = {
    "costbase_network": "an address names it by its slug before its scope is open",
    "costbase_shop": "an address names it by its slug before its scope is open",
    "costbase_run": "a worker is told its number and reads from it which shop's or network's scope to open",
    "costbase_runchunk": "part of a run, begun and counted by a worker before the scope of the run's owner is open",
    "accounts_person": "a person may work in several shops and networks, so the row is nobody's alone",
    "accounts_membership": "says which scopes a person may open, so it is read before one is",
    "accounts_membershipevent": "is in the class of the table that it remembers; the service only adds to it",
    "accounts_ownerlink": "is looked up by the digest of its secret to find out which shop's scope to open",
    "accounts_token": "is looked up by the digest of its secret to find out which scope to open",
}

# Nobody's rows. What the service's login may do with each:
SHARED = {
    "django_migrations": {"SELECT"},  # to say whether it is ready
    "pghistory_context": set(),  # of the history library; unused, every event carries its own author
}

# A function that sees and writes past the row policies, and why it has to.
WITH_THE_RIGHTS_OF_THE_OWNER = {
    "costbase_use_network_editions": "a shop's issued quote marks its network's editions, whose rows its scope only reads",
}

SHOP_IS_BOUND = "(shop_id = ( SELECT (NULLIF(current_setting('app.shop_id'::text, true), ''::text))::bigint AS \"nullif\"))"
NETWORK_IS_BOUND = (
    "(network_id = ( SELECT (NULLIF(current_setting('app.network_id'::text, true), ''::text))::bigint AS \"nullif\"))"
)
NETWORK_IS_WRITTEN = (
    f"({NETWORK_IS_BOUND} AND (( SELECT current_setting('app.network_write'::text, true) AS current_setting) = 'on'::text))"
)

Rows = list[tuple[object, ...]]


def read(statement: str, names: Sequence[str] = ()) -> Rows:
    """The rows of a statement; `names` is its one array parameter, if it has one."""
    with connection.cursor() as cursor:
        cursor.execute(statement, [list(names)] if names else None)
        return list(cursor.fetchall())


def own_models(owner: str) -> list[type[models.Model]]:
    return [model for model in apps.get_models() if row_policy_of(model) == owner and model._meta.managed]


@pytest.mark.django_db
class TestClasses:
    def test_every_table_is_in_one_class(self) -> None:
        tables = {name for (name,) in read("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")}

        named = [*SHOP, *NETWORK, *IDENTITY, *SHARED]
        assert sorted(named) == sorted(map(str, tables))

    def test_the_models_agree(self) -> None:
        assert {model._meta.db_table for model in own_models("shop")} == SHOP
        assert {model._meta.db_table for model in own_models("network")} == NETWORK

    def test_identity_and_shared_tables_have_no_row_security(self) -> None:
        guarded = read("SELECT relname FROM pg_class WHERE relkind = 'r' AND relrowsecurity")

        assert {name for (name,) in guarded} == SHOP | NETWORK
        assert all(len(reason.split()) > 5 for reason in IDENTITY.values())

    def test_row_security_binds_the_owner_of_the_table_too(self) -> None:
        forced = read("SELECT relname FROM pg_class WHERE relkind = 'r' AND relforcerowsecurity")

        assert {name for (name,) in forced} == SHOP | NETWORK

    def test_policies_compare_with_the_setting_of_their_class(self) -> None:
        found = read(
            "SELECT tablename, policyname, permissive, cmd, qual, with_check FROM pg_policies"
            " WHERE schemaname = 'public' AND roles = '{public}' ORDER BY 1, 2"
        )

        expected: Rows = [(t, f"{t}_of_shop", "PERMISSIVE", "ALL", SHOP_IS_BOUND, SHOP_IS_BOUND) for t in SHOP]
        for t in NETWORK:
            expected.append((t, f"{t}_read", "PERMISSIVE", "SELECT", NETWORK_IS_BOUND, None))
            expected.append((t, f"{t}_write", "PERMISSIVE", "ALL", NETWORK_IS_WRITTEN, NETWORK_IS_WRITTEN))
        assert found == sorted(expected, key=str)

    def test_nothing_runs_with_the_rights_of_the_owner(self) -> None:
        # A view and a SECURITY DEFINER function see what their owner sees: every shop's rows.
        views = read("SELECT relname FROM pg_class WHERE relkind IN ('v', 'm') AND relnamespace = 'public'::regnamespace")
        definers = read("SELECT proname FROM pg_proc WHERE prosecdef AND pronamespace = 'public'::regnamespace")

        assert views == []
        assert {name for (name,) in definers} == set(WITH_THE_RIGHTS_OF_THE_OWNER)

    def test_a_function_with_the_rights_of_the_owner_looks_for_names_where_nobody_else_can_put_any(self) -> None:
        paths = read("SELECT proconfig FROM pg_proc WHERE prosecdef AND pronamespace = 'public'::regnamespace")
        callers = read(
            "SELECT DISTINCT grantee FROM information_schema.role_routine_grants WHERE routine_name = ANY(%s)",
            sorted(WITH_THE_RIGHTS_OF_THE_OWNER),
        )

        assert [config for (config,) in paths] == [["search_path=pg_catalog, public, pg_temp"]]
        assert {name for (name,) in callers} <= {"roof_owner", "roof_app"}


def test_nobody_goes_around_for_shop_and_for_network() -> None:
    # Django's own managers of these tables ask for no shop. The row policies would still hold, but a reader of the
    # code could not tell whose rows are meant.
    around = re.compile(r"\._(rows|default_manager|base_manager)\b")
    files = [path for folder in ("costbase", "quotes", "api") for path in (ROOT / folder).rglob("*.py")]

    assert [str(path) for path in files if around.search(path.read_text())] == []


@pytest.mark.django_db
class TestKeys:
    def test_the_primary_key_of_a_shops_table_begins_with_the_shop(self) -> None:
        keys = read(
            "SELECT conrelid::regclass::text, array_agg(a.attname::text ORDER BY k.place)"
            " FROM pg_constraint, unnest(conkey) WITH ORDINALITY AS k(number, place)"
            " JOIN pg_attribute a ON true"
            " WHERE contype = 'p' AND a.attrelid = conrelid AND a.attnum = k.number GROUP BY conrelid"
        )

        own = {table: columns for table, columns in keys if table in SHOP}
        assert own == {t: ["shop_id", "pgh_id" if t.endswith("event") else "id"] for t in SHOP}

    def test_every_unique_key_of_a_shops_table_begins_with_the_shop(self) -> None:
        firsts = read(
            "SELECT c.relname, i.indexrelid::regclass::text, a.attname FROM pg_index i"
            " JOIN pg_class c ON c.oid = i.indrelid"
            " LEFT JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = i.indkey[0]"
            " WHERE i.indisunique AND c.relnamespace = 'public'::regnamespace"
        )

        assert [(t, index, column) for t, index, column in firsts if t in SHOP and column != "shop_id"] == []

    def test_keys_between_tables_of_a_shop_carry_the_shop(self) -> None:
        in_models = {
            (model._meta.db_table, field.column, field.related_model._meta.db_table)
            for model in own_models("shop")
            if issubclass(model, ShopOwned)
            for field in model._meta.local_fields
            if isinstance(field, models.ForeignKey) and row_policy_of(field.related_model) == "shop"
        }

        in_catalogue = {(table, here[1], target) for table, target, here, there in foreign_keys() if target in SHOP}
        assert in_catalogue == in_models
        for table, target, here, there in foreign_keys():
            if target in SHOP:
                assert (here[0], there, len(here)) == ("shop_id", ["shop_id", "id"], 2), (table, target)

    def test_nothing_outside_of_a_shop_points_into_it_and_nothing_of_a_shop_into_a_networks_rows(self) -> None:
        for table, target, _, _ in foreign_keys():
            assert target not in SHOP or table in SHOP, (table, target)
            assert target not in NETWORK, (table, target)

    def test_numbers_of_rows_are_large_enough(self) -> None:
        small = read(
            "SELECT c.relname, a.attname FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid"
            " WHERE c.relkind = 'r' AND c.relname = ANY(%s) AND a.attname IN ('id', 'pgh_id')"
            " AND a.atttypid <> 'bigint'::regtype",
            sorted(SHOP | NETWORK | set(IDENTITY)),
        )

        assert small == []


def foreign_keys() -> list[tuple[str, str, list[str], list[str]]]:
    """Table, table referred to, and the columns of both, in the key's order."""
    columns = "(SELECT array_agg(attname::text ORDER BY place) FROM unnest({key}) WITH ORDINALITY AS k(number, place)"
    columns += " JOIN pg_attribute ON attrelid = {table} AND attnum = number)"
    here = columns.format(key="conkey", table="conrelid")
    there = columns.format(key="confkey", table="confrelid")
    found = read(
        f"SELECT conrelid::regclass::text, confrelid::regclass::text, {here}, {there} FROM pg_constraint WHERE contype = 'f'"
    )
    return [(str(a), str(b), list(c), list(d)) for a, b, c, d in found]  # type: ignore[call-overload]


@pytest.mark.django_db
class TestLogin:
    def privileges(self) -> dict[str, set[str]]:
        found = read(
            "SELECT table_name, privilege_type FROM information_schema.role_table_grants"
            " WHERE table_schema = 'public' AND grantee IN ('roof_app', 'PUBLIC')"
        )
        granted: dict[str, set[str]] = {}
        for table, privilege in found:
            granted.setdefault(str(table), set()).add(str(privilege))
        return granted

    def test_the_tests_log_in_with_the_services_role(self) -> None:
        assert read("SELECT current_user, session_user") == [("roof_app", "roof_app")]

    def test_it_cannot_bypass_row_policies(self) -> None:
        role = read(
            "SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb, rolreplication FROM pg_roles"
            " WHERE rolname = current_user"
        )
        memberships = read(
            "SELECT r.rolname FROM pg_auth_members m JOIN pg_roles r ON r.oid = m.roleid"
            " WHERE m.member = (SELECT oid FROM pg_roles WHERE rolname = current_user)"
        )

        assert role == [(False, False, False, False, False)]
        assert memberships == []
        assert login_faults() == []

    def test_it_owns_nothing_and_makes_nothing(self) -> None:
        owned = read("SELECT relname FROM pg_class WHERE relowner = (SELECT oid FROM pg_roles WHERE rolname = current_user)")

        assert owned == []
        assert read("SELECT has_schema_privilege('public', 'CREATE')") == [(False,)]

    def test_it_can_only_add_to_history_and_to_ledgers(self) -> None:
        granted = self.privileges()
        append_only = {
            model._meta.db_table
            for model in apps.get_models()
            if issubclass(model, HistoryEvent) or getattr(model, "append_only", False)
        }

        assert "accounts_membershipevent" in append_only
        for table in append_only:
            assert granted[table] == {"SELECT", "INSERT"}, table

    def test_it_never_empties_a_table_and_never_deletes_people_or_places(self) -> None:
        granted = self.privileges()

        for table, privileges in granted.items():
            assert privileges <= {"SELECT", "INSERT", "UPDATE", "DELETE"}, table
        undeletable = [table for table in IDENTITY if "DELETE" not in granted[table]]
        assert sorted(undeletable) == [
            "accounts_membershipevent",
            "accounts_ownerlink",
            "accounts_person",
            "accounts_token",
            "costbase_network",
            "costbase_shop",
        ]
        assert {table: granted.get(table, set()) for table in SHARED} == SHARED

    def test_every_migration_takes_default_privileges_back(self) -> None:
        # A database may hand new tables to this role by default; the grants must not depend on that.
        text = "\n".join(path.read_text() for app in ("costbase", "quotes", "api/accounts") for path in migrations(app))

        for table in [*SHOP, *NETWORK, *IDENTITY, *SHARED]:
            assert f"REVOKE ALL ON {table} FROM roof_app;" in text, table


def migrations(app: str) -> list[Path]:
    return sorted((ROOT / app / "migrations").glob("0*.py"))


@pytest.mark.django_db(transaction=True)
class TestStarting:
    def test_the_owners_login_is_refused(self, owner_login: DatabaseUrl, app_login: DatabaseUrl) -> None:
        log_in(owner_login)
        try:
            with pytest.raises(UnboundLogin, match="may become roof_owner, which bypasses row policies"):
                refuse_unbound_login()
        finally:
            log_in(app_login)

    def test_a_table_without_row_security_is_refused(self, owner_login: DatabaseUrl, app_login: DatabaseUrl) -> None:
        log_in(owner_login)
        try:
            with transaction.atomic():
                read_nothing("ALTER TABLE quotes_coach NO FORCE ROW LEVEL SECURITY")
                faults = login_faults()
                transaction.set_rollback(True)
        finally:
            log_in(app_login)

        assert "row security is not forced on the table quotes_coach; run the migrations" in faults

    def test_the_services_login_may_start(self) -> None:
        refuse_unbound_login()

        assert connection.connection is None


def read_nothing(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)
