"""A file comes in: what it would change is told, field by field, with every fault; then it is applied whole or not at all."""

from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costbase.models import NetworkEdition, ShopEdition
from costbase.scope import network_scope
from tests import make
from tests.rest.files import DAY, Files
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Quoting, with_cost_base

# Today is 2 March 2026.
pytestmark = pytest.mark.usefixtures("clock")

RATES = "slug,name,cost_per_hour,billed_per_hour,overtime_factor\n"
HELPER = "helper,Helper,30.00,80.00,1.5\n"
PAINTER = "painter,Painter,40.00,110.00,1.5\n"


@pytest.fixture
def files(here: Office) -> Files:
    return Files(here)


@pytest.fixture
def of_network(here: Office) -> Files:
    return Files(here, network=True)


@pytest.fixture
def other_files(elsewhere: Office) -> Files:
    return Files(elsewhere)


def editions(files: Files) -> list[tuple[str, str, dict[str, Any]]]:
    """The editions of the place's own."""
    shop = files.office.shop
    if files.role == "network_manager":
        with network_scope(shop.network_id, make.OPERATOR):
            rows = list(NetworkEdition.objects.for_network(shop.network_id).order_by("id"))
            return [(row.kind, row.slug, row.contents) for row in rows]
    with files.office.scope():
        return [(row.kind, row.slug, row.contents) for row in ShopEdition.objects.for_shop(shop).order_by("id")]


def diving(slug: str, more: str = "") -> str:
    """An assembly that the shipped base does not have."""
    named = f'[assembly.{slug}]\nname = "Diving"\nphase = "teardown"\nlevel = "section"\nkind = "firm"\n'
    return named + f'driver = "skin_area"\ndriver_unit = "ft2"\ncrew = 2\n{more}'


class TestStaging:
    def test_a_file_tells_what_it_would_change_and_changes_nothing(self, files: Files) -> None:
        files.applied(RATES + HELPER + PAINTER, "rate", valid_from="2026-01-01")
        before = editions(files)

        told = files.staged(RATES + "helper,Helper,31.50,80.00,1.5\n" + PAINTER + "cook,Cook,20,60,2\n", "rate")

        assert told["state"] == "staged"
        assert (told["added"], told["changed"], told["unchanged"], told["faulty"]) == (1, 1, 1, 0)
        assert told["difference"] == {
            "added": [{"kind": "rate", "slug": "cook"}],
            "changed": [
                {"kind": "rate", "slug": "helper", "fields": [{"field": "cost_per_hour", "before": "30.00", "after": "31.50"}]}
            ],
            "unchanged": [{"kind": "rate", "slug": "painter"}],
        }
        assert told["faults"] == []
        assert editions(files) == before

    def test_it_is_told_again_and_in_a_list_and_row_by_row(self, files: Files) -> None:
        staged = files.staged(RATES + HELPER, "rate", note="Prices of spring.")

        answer = files.get(f"imports/{staged['id']}")
        (brief,) = files.get("imports").json()["results"]
        (row,) = files.get(f"imports/{staged['id']}/rows").json()["results"]

        assert answer.json() == staged
        assert answer["ETag"] == '"v1"'
        assert brief == {name: value for name, value in staged.items() if name not in ("difference", "faults")}
        assert brief["note"] == "Prices of spring."
        assert row["change"] == "added"
        assert {"field": "name", "before": None, "after": "Helper"} in row["fields"]

    def test_every_fault_is_told_with_file_row_column_and_reason(self, files: Files) -> None:
        told = files.staged(RATES + "helper,,30,80,1.5\n" + "cook,Cook,-1,sixty,2\n" + PAINTER + PAINTER, "rate", file="r.csv")

        assert (told["added"], told["faulty"]) == (1, 3)
        assert [(fault["place"], fault["column"]) for fault in told["faults"]] == [
            ("row 2", "name"),
            ("row 3", "cost_per_hour"),
            ("row 3", "billed_per_hour"),
            ("row 5", "slug"),
        ]
        assert told["faults"][0] == {"file": "r.csv", "place": "row 2", "column": "name", "reason": "name is missing"}
        assert told["faults"][3]["reason"] == "painter is there already: row 4"
        faulty = files.get(f"imports/{told['id']}/rows?change=faulty").json()["results"]
        assert [row["place"] for row in faulty] == ["row 2", "row 3", "row 5"]

    @pytest.mark.parametrize(
        ("content", "kind", "place", "reason"),
        [
            ("slug;name\n", "rate", "row 1", "expected commas between the cells, not semicolons or tabs"),
            ("slug,name\n", "rate", "row 1", "the column is missing"),
            (b"slug,n\xff\n", "rate", "line 1", "expected text in UTF-8"),
            ("[spell.fog]\na = 1\n", "", "spell", "unknown kind; expected one of rate, material, price, assembly, plan, "),
            ("a = \n", "", "", "expected TOML: "),
            ("# nothing\n", "", "", "expected at least one edition: "),
            ("[rule.mine]\na = 1\n", "", "rule mine", "expected standard, under which quotes look for it, not 'mine'"),
            ("[severity.severity]\nlabel = 1\n", "", "severity severity", "expected a text"),
        ],
    )
    def test_a_file_that_is_none_is_told_as_such(
        self, files: Files, content: str | bytes, kind: str, place: str, reason: str
    ) -> None:
        told = files.staged(content, kind)

        assert [fault for fault in told["faults"] if fault["place"] == place and reason in fault["reason"]], told["faults"]
        assert problem(files.apply(told["id"]), 409)["code"] == "import_faulty"

    def test_what_does_not_fit_the_rest_is_told_at_its_row(self, files: Files) -> None:
        with_cost_base(files.office.shop.network)
        # The coating needs a pack that the fleece is not sold by; and the plan names an assembly that there is not.
        told = files.staged('[plan.quick]\nname = "Quick"\nopens = false\nassemblies = ["dance"]\n')

        assert [(fault["place"], fault["column"]) for fault in told["faults"]] == [("plan quick", "assemblies/0")]
        assert told["faulty"] == 1

    def test_a_shop_is_compared_with_what_its_network_says_too(self, files: Files, of_network: Files) -> None:
        of_network.applied(RATES + HELPER, "rate", valid_from="2026-01-01")

        assert files.staged(RATES + HELPER, "rate")["unchanged"] == 1
        assert files.applied(RATES + HELPER + PAINTER, "rate")["added"] == 1
        assert [slug for _, slug, _ in editions(files)] == ["painter"]

    def test_it_is_compared_on_its_own_first_day(self, files: Files) -> None:
        files.applied(RATES + HELPER, "rate", valid_from="2026-03-01")

        assert files.staged(RATES + HELPER, "rate", valid_from="2026-02-28", note="Late.")["added"] == 1
        assert files.staged(RATES + HELPER, "rate", valid_from="2026-03-01", note="Late.")["unchanged"] == 1

    def test_the_same_file_sent_again_under_its_key_is_staged_once(self, files: Files) -> None:
        answers = [files.send(RATES + HELPER, "rate", headers={"Idempotency-Key": "a"}) for _ in range(2)]
        other = files.send(RATES + PAINTER, "rate", headers={"Idempotency-Key": "a"})

        assert [answer.status_code for answer in answers] == [201, 201]
        assert answers[1].json() == answers[0].json()
        assert problem(other, 422)["code"] == "idempotency_mismatch"
        assert len(files.get("imports").json()["results"]) == 1

    def test_it_takes_as_many_queries_whatever_its_length(self, files: Files) -> None:
        files.staged(RATES + HELPER, "rate")
        counts = []
        for rows in (1, 40):
            content = RATES + "".join(f"trade-{n},Trade,30,80,1.5\n" for n in range(rows))
            with CaptureQueriesContext(connection) as queries:
                files.applied(content, "rate")
            counts.append(len(queries))

        assert counts[0] == counts[1]


class TestRefusing:
    def test_what_the_query_must_say(self, files: Files) -> None:
        good = RATES + HELPER
        assert places(files.send(good, "rate", valid_from=""), 400) == {"valid_from": "bad_parameter"}
        assert places(files.send(good, "rate", valid_from="2026-02-30"), 400) == {"valid_from": "bad_parameter"}
        assert places(files.send(good, "rate", file=""), 400) == {"file": "bad_parameter"}
        assert places(files.send(good, "rate", file="a" * 201), 400) == {"file": "bad_parameter"}
        assert places(files.send(good, "rate", note="\x00"), 400) == {"note": "bad_parameter"}
        assert places(files.send(good, "assembly"), 400) == {"kind": "bad_parameter"}
        assert places(files.send(good, media_type="text/csv"), 400) == {"kind": "bad_parameter"}
        assert places(files.send(good, "rate", media_type="application/toml"), 400) == {"kind": "bad_parameter"}
        assert places(files.send(good, "rate", kinds="rate"), 400) == {"kinds": "unknown_parameter"}

    def test_the_name_may_stand_in_the_header_of_a_file(self, files: Files) -> None:
        def named(header: str) -> Any:
            return files.send(RATES + HELPER, "rate", file="", headers={"Content-Disposition": header})

        assert named('attachment; filename="of spring.csv"').json()["file"] == "of spring.csv"
        assert named("attachment; filename*=UTF-8''fr%C3%BChling.csv").json()["file"] == "frühling.csv"
        assert places(named("attachment"), 400) == {"Content-Disposition": "bad_header"}

    def test_what_is_no_file_is_refused(self, files: Files) -> None:
        assert problem(files.send("{}", media_type="application/json"), 415)["code"] == "unsupported_media_type"
        assert (
            problem(files.send(RATES, "rate", media_type="text/csv; charset=latin-1"), 415)["code"] == "unsupported_media_type"
        )
        assert problem(files.send("", "rate"), 400)["code"] == "body_missing"
        assert files.send(RATES + HELPER, "rate", media_type="text/csv; charset=UTF-8").status_code == 201

    def test_what_is_too_large_is_refused_with_the_bound(self, files: Files) -> None:
        told = problem(files.send(b"a" * 4_000_001, "rate"), 413)

        assert (told["code"], told["detail"]) == ("body_too_large", "Expected a body of at most 4000000 bytes.")

    def test_only_managers_stage_apply_and_discard(self, files: Files) -> None:
        staged = files.staged(RATES + HELPER, "rate")
        for role in ("estimator", "analyst", "network_manager"):
            assert files.send(RATES + HELPER, "rate", role=role).status_code in (403, 404)
            assert files.apply(staged["id"], role=role).status_code in (403, 404)
            assert files.discard(staged["id"], role=role).status_code in (403, 404)
        assert files.get(f"imports/{staged['id']}", role="analyst").status_code == 200
        assert files.get(f"imports/{staged['id']}", role="estimator").status_code == 403

    def test_another_shops_import_is_not_there(self, files: Files, other_files: Files) -> None:
        staged = other_files.staged(RATES + HELPER, "rate")

        for path in (f"imports/{staged['id']}", f"imports/{staged['id']}/rows"):
            problem(files.get(path), 404)
        problem(files.office.post(f"imports/{staged['id']}/application", {}, headers={"If-Match": "*"}), 404)
        assert files.get("imports").json()["results"] == []

    def test_filters_of_the_lists_are_checked(self, files: Files) -> None:
        staged = files.staged(RATES + HELPER, "rate")
        assert files.get("imports?state=applied").json()["results"] == []
        assert places(files.get("imports?state=lost"), 400) == {"state": "bad_parameter"}
        assert places(files.get(f"imports/{staged['id']}/rows?change=none"), 400) == {"change": "bad_parameter"}


class TestApplying:
    def test_what_was_staged_is_in_force_from_its_day(self, files: Files) -> None:
        told = files.applied(RATES + HELPER, "rate", note="Prices of spring.")

        assert told["state"] == "applied"
        assert told["applied_at"] is not None
        ((kind, slug, contents),) = editions(files)
        assert (kind, slug) == ("rate", "helper")
        assert contents == {
            "name": "Helper", "cost_per_hour": "30.00", "billed_per_hour": "80.00", "overtime_factor": "1.5",
        }  # fmt: skip

    def test_an_override_remembers_the_networks_edition(self, files: Files, of_network: Files) -> None:
        of_network.applied(RATES + HELPER, "rate", valid_from="2026-01-01")
        files.applied(RATES + "helper,Helper,30.00,85.00,1.5\n", "rate")

        with files.office.scope():
            (own,) = ShopEdition.objects.for_shop(files.office.shop)
            (source,) = NetworkEdition.objects.for_network(files.office.shop.network_id)
        assert own.came_from == source.pk

    def test_it_wants_the_version_that_was_read(self, files: Files) -> None:
        staged = files.staged(RATES + HELPER, "rate")
        path = f"imports/{staged['id']}/application"

        assert problem(files.office.post(path, {}), 428)["code"] == "if_match_missing"
        assert problem(files.office.post(path, {}, headers={"If-Match": '"v9"'}), 412)["code"] == "version_mismatch"

    def test_it_is_applied_once(self, files: Files) -> None:
        told = files.applied(RATES + HELPER, "rate")

        assert problem(files.apply(told["id"]), 409)["code"] == "import_state"
        assert len(editions(files)) == 1

    def test_a_file_with_one_fault_is_not_applied_at_all(self, files: Files) -> None:
        staged = files.staged(RATES + HELPER + "cook,Cook,-1,60,2\n", "rate")

        told = problem(files.apply(staged["id"]), 409)

        assert told["code"] == "import_faulty"
        assert told["detail"] == "the file has faults in 1 places; put them right and send it again"
        assert editions(files) == []

    def test_what_moved_meanwhile_is_told_and_nothing_is_applied(self, files: Files, of_network: Files) -> None:
        first = files.staged(RATES + HELPER + PAINTER, "rate")
        of_network.applied(RATES + "helper,Helper,1.00,2.00,1.5\n", "rate", valid_from="2026-01-01")

        told = problem(files.apply(first["id"]), 409)

        assert (told["code"], told["moved"]) == ("in_force_changed", [{"kind": "rate", "slug": "helper"}])
        assert editions(files) == []
        assert files.get(f"imports/{first['id']}").json()["state"] == "staged"

    def test_what_changed_beside_it_does_not_hold_it_up(self, files: Files) -> None:
        staged = files.staged(RATES + HELPER, "rate")
        files.applied(RATES + PAINTER, "rate")

        assert files.apply(staged["id"]).status_code == 200

    def test_what_no_longer_fits_the_rest_is_told_and_nothing_is_applied(self, files: Files) -> None:
        with_cost_base(files.office.shop.network)
        staged = files.staged('[plan.quick]\nname = "Quick"\nopens = false\nassemblies = ["roof-access"]\n')
        if staged["faults"]:
            pytest.fail(str(staged["faults"]))
        with network_scope(files.office.shop.network_id, make.OPERATOR):
            NetworkEdition.objects.for_network(files.office.shop.network_id).filter(slug="roof-access").delete()

        assert files.apply(staged["id"]).status_code == 422
        assert editions(files) == []

    def test_an_edition_of_that_day_is_replaced_unless_a_quote_has_used_it(self, files: Files) -> None:
        files.applied(RATES + HELPER, "rate")
        files.applied(RATES + "helper,Helper,30.00,85.00,1.5\n", "rate")
        assert [contents["billed_per_hour"] for _, _, contents in editions(files)] == ["85.00"]

        with files.office.scope():
            ShopEdition.objects.for_shop(files.office.shop).update(used=True)
        staged = files.staged(RATES + "helper,Helper,30.00,90.00,1.5\n", "rate")
        assert problem(files.apply(staged["id"]), 409)["code"] == "edition_used"
        later = files.staged(RATES + "helper,Helper,30.00,90.00,1.5\n", "rate", valid_from="2026-03-03")
        assert files.apply(later["id"]).status_code == 200

    def test_a_file_for_a_day_that_is_over_needs_a_note(self, files: Files) -> None:
        refused = files.send(RATES + HELPER, "rate", valid_from="2026-03-01")

        assert places(refused) == {"note": "note_missing"}
        assert files.applied(RATES + HELPER, "rate", valid_from="2026-03-01", note="Was forgotten.")["added"] == 1

    def test_it_does_not_reach_back_over_a_day_on_which_an_issued_quote_read_something_else(self, quoting: Quoting) -> None:
        quoting.issued()
        files = Files(quoting.office)
        rates = files.exported("rate", on=DAY, owner="all").decode()
        day_before = files.staged(rates.replace(",1.5", ",1.6"), "rate", valid_from="2026-03-01", note="Late.")

        told = problem(files.apply(day_before["id"]), 409 if day_before["changed"] == 1 else 422)

        assert {fault["code"] for fault in told["errors"]} == {"quoted_since"}
        assert editions(files) == []
        # What no quote read may be put right.
        assert files.applied(RATES + "diver,Diver,30.00,80.00,1.5\n", "rate", valid_from="2026-03-01")["added"] == 1

    def test_where_a_later_edition_took_over_before_the_quote_it_may_reach_back(self, quoting: Quoting) -> None:
        quoting.own_edition("rate", "technician", date(2026, 2, 1))
        quoting.issued()
        files = Files(quoting.office)
        (rate,) = [line for line in files.exported("rate", on=DAY).decode().splitlines() if line.startswith("technician,")]

        told = files.applied(RATES + rate.replace(",1.5", ",1.6") + "\n", "rate", valid_from="2026-01-15")
        assert told["changed"] == 1

    def test_a_network_does_not_reach_back_over_an_edition_that_a_quote_has_used(self, of_network: Files) -> None:
        of_network.applied(RATES + HELPER, "rate", valid_from="2026-01-01")
        with network_scope(of_network.office.shop.network_id, make.OPERATOR):
            NetworkEdition.objects.for_network(of_network.office.shop.network_id).update(used=True)
        staged = of_network.staged(RATES + "helper,Helper,1,2,1.5\n", "rate", valid_from="2026-02-01", note="Late.")

        assert problem(of_network.apply(staged["id"]), 409)["code"] == "quoted_since"

    def test_where_a_shop_follows_its_network_again_that_is_what_it_is_compared_with(
        self, files: Files, of_network: Files
    ) -> None:
        of_network.applied(RATES + HELPER, "rate", valid_from="2026-01-01")
        own = "helper,Helper,30.00,85.00,1.5\n"
        files.applied(RATES + own, "rate", valid_from="2026-02-01")
        with files.office.scope():
            ShopEdition.objects.for_shop(files.office.shop).create(
                shop=files.office.shop,
                kind="rate",
                slug="helper",
                valid_from=date(2026, 3, 1),
                contents={},
                follows_network=True,
            )

        assert files.staged(RATES + HELPER, "rate")["unchanged"] == 1
        assert files.staged(RATES + own, "rate", valid_from="2026-02-15", note="Late.")["unchanged"] == 1
        assert files.exported("rate", on=DAY, owner="shop").decode() == RATES
        # On that very day it takes the place of following.
        assert files.applied(RATES + own, "rate", valid_from="2026-03-01")["changed"] == 1
        assert files.exported("rate", on=DAY, owner="shop").decode() == RATES + own

    def test_it_has_to_fit_on_its_own_first_day(self, files: Files) -> None:
        with_cost_base(files.office.shop.network)
        plan = '[plan.quick]\nname = "Quick"\nopens = false\nassemblies = ["diving"]\n'
        files.applied(diving("diving"), valid_from="2026-03-03")

        assert [fault["reason"] for fault in files.staged(plan)["faults"]] == ["no assembly diving is in force"]
        assert files.staged(plan, valid_from="2026-03-03")["faults"] == []

    def test_it_has_to_fit_what_begins_later_too(self, files: Files) -> None:
        with_cost_base(files.office.shop.network)
        files.applied(diving("diving") + diving("drying"))
        files.applied(diving("drying", 'predecessors = ["diving"]\n'), valid_from="2026-04-01")

        # Today nothing waits for diving; from April on each would wait for the other.
        (fault,) = files.staged(diving("diving", 'predecessors = ["drying"]\n'))["faults"]
        assert "wait for each other" in fault["reason"]

    def test_a_network_applies_its_own(self, of_network: Files) -> None:
        assert of_network.applied(RATES + HELPER, "rate")["added"] == 1
        assert [slug for _, slug, _ in editions(of_network)] == ["helper"]
        assert of_network.staged(RATES + HELPER, "rate")["unchanged"] == 1
        (first, _) = of_network.get("imports").json()["results"]
        assert of_network.get(f"imports/{first['id']}/rows").json()["results"][0]["change"] == "unchanged"

    def test_quotes_are_priced_with_it(self, quoting: Quoting) -> None:
        before = quoting.tried()["amounts"]["limit"]
        rates = Files(quoting.office).exported("rate", on=DAY, owner="all").decode()

        Files(quoting.office).applied(rates.replace("Technician,", "Technician of spring,"), "rate")
        assert quoting.tried()["amounts"]["limit"] == before


class TestDiscarding:
    def test_what_was_discarded_is_gone(self, files: Files) -> None:
        staged = files.staged(RATES + HELPER, "rate")

        assert files.discard(staged["id"]).status_code == 204
        problem(files.get(f"imports/{staged['id']}"), 404)
        assert editions(files) == []

    def test_what_was_applied_stays(self, files: Files) -> None:
        told = files.applied(RATES + HELPER, "rate")

        assert problem(files.discard(told["id"]), 409)["code"] == "import_state"

    def test_a_network_discards_its_own(self, of_network: Files) -> None:
        staged = of_network.staged(RATES + HELPER, "rate")

        assert of_network.discard(staged["id"]).status_code == 204
