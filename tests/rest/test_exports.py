"""What is in force goes out as a file, and comes in again without a difference."""

import csv
import io
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.rest.exports import EXPORT_KINDS
from costbase.exchange.csv_tables import CSV_KINDS
from costbase.models import NetworkEdition, ShopEdition
from costbase.scope import network_scope
from tests import make
from tests.default_base import staged
from tests.rest.files import DAY, Files
from tests.rest.office import Office, places, problem
from tests.rest.quoting import with_cost_base

SHIPPED = [(entry.kind, entry.slug) for entry in staged()] + [("severity", "severity")]
# Today is 2 March 2026.
pytestmark = pytest.mark.usefixtures("clock")

RATES = "slug,name,cost_per_hour,billed_per_hour,overtime_factor\n"


@pytest.fixture
def shipped(here: Office) -> Office:
    with_cost_base(here.shop.network)
    return here


@pytest.mark.parametrize("kind", EXPORT_KINDS)
def test_every_shipped_kind_comes_in_again_without_a_difference(shipped: Office, kind: str) -> None:
    count = sum(of == kind for of, _ in SHIPPED)
    for files in (Files(shipped), Files(shipped, network=True)):
        told = files.staged(files.exported(kind, on=DAY), kind if kind in CSV_KINDS else "")

        assert (told["unchanged"], told["added"], told["changed"], told["faults"]) == (count, 0, 0, [])


@pytest.mark.parametrize("kind", EXPORT_KINDS)
def test_into_an_empty_shop_it_brings_the_same_contents(shipped: Office, elsewhere: Office, kind: str) -> None:
    content = Files(shipped).exported(kind, on=DAY)
    told = Files(elsewhere).staged(content, kind if kind in CSV_KINDS else "")
    rows = Files(elsewhere).get(f"imports/{told['id']}/rows?limit=200").json()["results"]

    # Alone some of it does not fit: plans name assemblies that are not there. What each says is the same all the same.
    with network_scope(shipped.shop.network_id, make.OPERATOR):
        here = NetworkEdition.objects.for_network(shipped.shop.network).filter(kind=kind).order_by("slug")
        contents = {row.slug: row.contents for row in here}
    if not told["faults"]:
        assert {row["slug"]: {f["field"].split("/")[0] for f in row["fields"]} for row in rows} == {
            slug: set(said) for slug, said in contents.items()
        }
    assert [row["slug"] for row in rows] == sorted(contents)[:200]


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(chosen=st.sets(st.sampled_from(SHIPPED), min_size=1, max_size=6), days=st.integers(-400, 400))
def test_any_part_of_it_on_any_day_comes_in_again_without_a_difference(
    shipped: Office, chosen: set[tuple[str, str]], days: int
) -> None:
    """Editions of the shop's own, some of them newer than the day, beside the network's."""
    day = date(2026, 3, 2) + timedelta(days=days)
    contents = {(entry.kind, entry.slug): entry.contents for entry in staged()}
    with shipped.scope():
        ShopEdition.objects.for_shop(shipped.shop).delete()
        for at, key in enumerate(sorted(chosen & set(contents))):
            ShopEdition.objects.for_shop(shipped.shop).create(
                shop=shipped.shop, kind=key[0], slug=key[1], valid_from=day + timedelta(days=at % 3 - 1), contents=contents[key]
            )
    files = Files(shipped)
    for kind in {kind for kind, _ in chosen}:
        for owner in ("all", "shop"):
            content = files.exported(kind, on=day.isoformat(), owner=owner)
            told = files.send(content, kind if kind in CSV_KINDS else "", valid_from=day.isoformat(), note="Again.").json()
            assert (told["added"], told["changed"]) == (0, 0)
            assert not [f for f in told["faults"] if not f["reason"].startswith("expected at least one edition")]


def test_a_shop_takes_its_own_or_all(shipped: Office) -> None:
    files = Files(shipped)
    files.applied(RATES + "diver,Diver,30.00,80.00,1.5\n", "rate")

    own = files.exported("rate", on=DAY, owner="shop").decode()
    everything = list(csv.DictReader(io.StringIO(files.exported("rate", on=DAY).decode())))

    assert own == RATES + "diver,Diver,30.00,80.00,1.5\n"
    assert len(everything) == sum(kind == "rate" for kind, _ in SHIPPED) + 1
    assert [row["slug"] for row in everything] == sorted(row["slug"] for row in everything)


def test_it_is_of_the_day_that_is_asked_for(here: Office) -> None:
    files = Files(here)
    for day, price in (("2026-01-01", "80.00"), ("2026-02-01", "85.00")):
        files.applied(RATES + f"helper,Helper,30.00,{price},1.5\n", "rate", valid_from=day, note="Late.")

    assert b"80.00" in files.exported("rate", on="2026-01-31")
    assert b"85.00" in files.exported("rate", on="2026-02-01")
    assert files.exported("rate", on="2025-12-31").decode() == RATES
    assert b"85.00" in files.exported("rate")


def test_it_comes_as_a_file_with_a_name_whatever_the_client_accepts(here: Office) -> None:
    answer = Files(here).get(f"exports/rate?on={DAY}", headers={"Accept": "text/csv"})

    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="rate-2026-03-02.csv"'
    toml = Files(here).get(f"exports/plan?on={DAY}")
    assert toml["Content-Disposition"] == 'attachment; filename="plan-2026-03-02.toml"'


def test_a_network_takes_its_own(shipped: Office) -> None:
    assert Files(shipped, network=True).exported("rate", on=DAY) == Files(shipped).exported("rate", on=DAY, owner="all")
    assert places(Files(shipped, network=True).get("exports/rate?owner=all"), 400) == {"owner": "unknown_parameter"}


def test_costs_are_for_managers_and_analysts(here: Office) -> None:
    assert here.get("exports/rate", role="analyst").status_code == 200
    assert problem(here.get("exports/rate", role="estimator"), 403)["code"] == "role_not_allowed"
    assert problem(here.get("exports/rate", role="network_manager"), 404)["code"] == "not_found"


def test_what_cannot_be_asked_for_is_refused(here: Office) -> None:
    assert "Expected one of rate, " in problem(here.get("exports/rates"), 404)["detail"]
    assert places(here.get("exports/rate?on=2026-02-30"), 400) == {"on": "bad_parameter"}
    assert places(here.get("exports/rate?on=today"), 400) == {"on": "bad_parameter"}
    assert places(here.get("exports/rate?owner=network"), 400) == {"owner": "bad_parameter"}
    assert places(here.get("exports/rate?of=all"), 400) == {"of": "unknown_parameter"}


def test_the_level_of_warnings_goes_out_and_comes_in_again(shipped: Office) -> None:
    (standard,) = [entry.contents for entry in staged() if (entry.kind, entry.slug) == ("rule", "standard")]
    with shipped.scope():
        ShopEdition.objects.for_shop(shipped.shop).create(
            shop=shipped.shop,
            kind="rule",
            slug="standard",
            valid_from=date(2026, 1, 1),
            contents={**standard, "warning_chance": 0.35},
        )
    content = Files(shipped).exported("rule", on=DAY)
    assert b"warning_chance = 0.35" in (content if isinstance(content, bytes) else content.encode())
    told = Files(shipped).staged(content, "")
    assert (told["added"], told["changed"], told["faults"]) == (0, 0, [])
