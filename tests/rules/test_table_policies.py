"""``manage.py table_policies`` prints a migration for what is new, and refuses tables that cannot be made
safe.
"""

import ast
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import models
from django.test.utils import isolate_apps

from api.management import policy_sql
from api.management.commands import table_policies
from costbase.models import NetworkEdition, NetworkOwned, ShopEdition, ShopOwned
from quotes.models import Customer

ROOT = Path(__file__).resolve().parents[2]


def printed(*words: str) -> str:
    said = StringIO()
    call_command("table_policies", *words, stdout=said)
    return said.getvalue()


class TestCommand:
    def test_nothing_is_printed_when_the_migrations_have_everything(self) -> None:
        with pytest.raises(CommandError, match="the migrations of costbase have everything"):
            printed("costbase")

    def test_all_prints_a_migration_that_python_can_read(self) -> None:
        tree = ast.parse(printed("costbase", "ShopEdition", "--all"))

        imports = [node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
        assert imports == ["django.db"]

    def test_the_migration_follows_the_last_one(self) -> None:
        last = sorted((ROOT / "costbase" / "migrations").glob("0*.py"))[-1]

        assert f'dependencies = [("costbase", "{last.stem}")]' in printed("costbase", "--all")

    def test_a_shops_table_gets_its_key_its_policy_and_its_grants(self) -> None:
        text = printed("costbase", "ShopEdition", "--all")

        for words in (
            "ADD CONSTRAINT costbase_shopedition_pkey PRIMARY KEY (shop_id, id);",
            "ALTER TABLE costbase_shopedition ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;",
            "CREATE POLICY costbase_shopedition_of_shop ON costbase_shopedition FOR ALL",
            "REVOKE ALL ON costbase_shopedition FROM roof_app;",
            "GRANT SELECT, INSERT, UPDATE, DELETE ON costbase_shopedition TO roof_app;",
        ):
            assert words in text

    def test_what_an_operation_makes_it_takes_back_in_the_opposite_order(self) -> None:
        text = printed("costbase", "ShopEdition", "--all")
        back = text[text.index("DROP POLICY") - 60 :]

        assert back.index("REVOKE ALL") < back.index("DROP POLICY") < back.index("DISABLE ROW LEVEL SECURITY")

    def test_primary_keys_come_before_the_keys_that_need_them(self) -> None:
        text = printed("quotes", "--all")

        assert text.rindex("ADD CONSTRAINT quotes_survey_pkey PRIMARY KEY (shop_id, id)") < text.index("FOREIGN KEY")

    def test_it_can_become_the_next_migration_file(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        # An empty folder of migrations has nothing yet, so the file says everything.
        monkeypatch.setattr(table_policies, "_folder", lambda config: tmp_path)

        path = Path(printed("costbase", "NetworkEdition", "--write=network_policies").strip())

        last = sorted((ROOT / "costbase" / "migrations").glob("0*.py"))[-1]
        assert path.parent == tmp_path
        assert path.name == f"{int(last.name[:4]) + 1:04d}_network_policies.py"
        assert "CREATE POLICY costbase_networkedition_write" in path.read_text()

    def test_what_is_written_already_is_left_out(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(table_policies, "_folder", lambda config: tmp_path)
        printed("costbase", "ShopEdition", "NetworkEdition", "--write=first")

        text = printed("costbase")

        assert "costbase_shopeditionevent" in text
        assert "ON costbase_shopedition " not in text
        assert "ON costbase_networkedition " not in text

    def test_an_unknown_application_or_model_is_told(self) -> None:
        with pytest.raises(CommandError, match=r"expected one of .*costbase.*, got nowhere"):
            printed("nowhere")
        with pytest.raises(CommandError, match=r"costbase has no Nothing; expected some of .*shopedition"):
            printed("costbase", "Nothing")


class TestPieces:
    def grant(self, model: type[models.Model]) -> str:
        (piece,) = policy_sql.grants(model)
        return piece.forward.splitlines()[-1]

    @isolate_apps("quotes")
    def test_a_ledger_is_only_added_to(self) -> None:
        class Ledger(ShopOwned):
            append_only = True

            class Meta:
                app_label = "quotes"

        assert self.grant(Ledger) == "GRANT SELECT, INSERT ON quotes_ledger TO roof_app;"

    @isolate_apps("quotes")
    def test_a_networks_table_keeps_its_key_and_has_two_policies(self) -> None:
        class Proposal(NetworkOwned):
            class Meta:
                app_label = "quotes"

        assert list(policy_sql.primary_key(Proposal)) == []
        names = [piece.mark for piece in policy_sql.policies(Proposal)]
        assert names[1:] == ["CREATE POLICY quotes_proposal_read ", "CREATE POLICY quotes_proposal_write "]

    @isolate_apps("quotes")
    def test_a_reference_within_the_shop_carries_the_shop(self) -> None:
        class Visit(ShopOwned):
            customer = models.ForeignKey(Customer, on_delete=models.PROTECT, db_constraint=False)

            class Meta:
                app_label = "quotes"

        (piece,) = policy_sql.keys_within_shop(Visit)
        assert piece.forward == (
            "ALTER TABLE quotes_visit ADD CONSTRAINT quotes_visit_customer_in_shop FOREIGN KEY (shop_id, customer_id)\n"
            "    REFERENCES quotes_customer (shop_id, id)\n"
            "    DEFERRABLE INITIALLY IMMEDIATE;"
        )
        assert piece.reverse == "ALTER TABLE quotes_visit DROP CONSTRAINT quotes_visit_customer_in_shop;"

    @isolate_apps("quotes")
    def test_a_reference_with_a_key_of_djangos_is_refused(self) -> None:
        class Visit(ShopOwned):
            customer = models.ForeignKey(Customer, on_delete=models.PROTECT)

            class Meta:
                app_label = "quotes"

        with pytest.raises(CommandError, match=r"quotes\.Visit\.customer: expected db_constraint=False"):
            list(policy_sql.keys_within_shop(Visit))

    @isolate_apps("quotes")
    def test_a_reference_to_a_networks_row_is_refused(self) -> None:
        class Visit(ShopOwned):
            edition = models.ForeignKey(NetworkEdition, on_delete=models.PROTECT, db_constraint=False)

            class Meta:
                app_label = "quotes"

        with pytest.raises(CommandError, match=r"quotes\.Visit\.edition: expected a number"):
            list(policy_sql.keys_within_shop(Visit))

    @isolate_apps("quotes")
    def test_a_unique_field_without_the_shop_is_refused(self) -> None:
        class Visit(ShopOwned):
            edition = models.OneToOneField(ShopEdition, on_delete=models.PROTECT, db_constraint=False)

            class Meta:
                app_label = "quotes"

        with pytest.raises(CommandError, match="a UniqueConstraint that begins with shop instead of unique edition"):
            list(policy_sql.primary_key(Visit))
