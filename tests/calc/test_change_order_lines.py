"""What the work of a change order costs: the page's example by hand, and what must hold of packs."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.errors import CalculationError
from quotes.calc.change_order import (
    AssemblyWork,
    Bought,
    GoodsWork,
    HoursWork,
    Need,
    PricedWay,
    RepairWork,
    SubcontractWork,
    Work,
    WorkError,
    added_packs,
    laid_under,
    price_way,
)
from tests.calc.change_cases import FRAME, terms
from tests.scenarios.small_roof import FOOT, MATERIALS, cost_base, material, quoted, severity, trade

PATCH = (
    HoursWork("technician", Decimal(2), "skin", "a patch of 72 sq ft, glued on top"),
    GoodsWork("adhesive", Decimal("0.9"), "a patch of 72 sq ft, glued on top"),
)


def amounts(way: PricedWay) -> list[tuple[str, Decimal, Decimal]]:
    return [(line.slug, line.quantity, line.amount) for line in way.lines]


def test_the_page_s_change_order_is_294_73() -> None:
    # 2 h x 100.00; (2.0 + 0.9) gal x 1.10 = 3.19, 4 packs less 3; supplies at their cap; 8 % of 272.90 = 21.832.
    way = price_way(PATCH, terms())

    assert amounts(way) == [
        ("hours-technician", Decimal(2), Decimal("200.00")),
        ("adhesive", Decimal(1), Decimal("72.90")),
        ("overhead", Decimal(1), Decimal("21.83")),
    ]
    assert way.amount == Decimal("294.73")
    assert way.by_class == {"labour": Decimal("221.83"), "parts": Decimal("72.90")}
    # 2 h x 40 and one pack at 54.00; 2 h of one person are a quarter of a day.
    assert (way.cost, way.days) == (Decimal("134.00"), Decimal("0.25"))


def test_what_a_started_pack_still_holds_is_not_sold_again() -> None:
    # (2.0 + 0.7) x 1.10 = 2.97: the three gallons that were bought hold it.
    (line,) = price_way([GoodsWork("adhesive", Decimal("0.7"), "a seam")], terms()).lines

    assert (line.quantity, line.amount) == (Decimal(0), Decimal("0.00"))
    assert (line.details["bought_before"], line.details["needed_all"], line.details["net_before"]) == ("3", "3", "2.0000")


def test_earlier_orders_count_as_bought() -> None:
    # 2.9 gal and 4 packs stand before; 0.8 more are 3.7 x 1.10 = 4.07: a fifth pack.
    later = terms(bought={"adhesive": Bought(Decimal("2.9"), Decimal(4))})

    way = price_way([GoodsWork("adhesive", Decimal("0.8"), "another seam")], later)

    assert amounts(way)[0] == ("adhesive", Decimal(1), Decimal("72.90"))


def test_supplies_stop_at_the_cap_over_the_whole_job() -> None:
    # 3 % of (2,521.00 + 200.00) = 81.63, at most 70.00, of which 60.00 were charged.
    way = price_way(PATCH[:1], terms(rule={"supplies_cap": Decimal("70.00")}))

    assert amounts(way) == [
        ("hours-technician", Decimal(2), Decimal("200.00")),
        ("shop-supplies", Decimal(1), Decimal("10.00")),
        ("overhead", Decimal(1), Decimal("16.80")),  # 8 % of 210.00
    ]


def test_an_assembly_that_the_job_carries_keeps_its_multipliers_and_is_not_set_up_again() -> None:
    # Skin off was quoted outdoors: 10 sq ft x 0.05 x 1.10 = 0.55 h, without the half hour of set-up.
    way = price_way([AssemblyWork("skin-off", "main", {"skin_area": 10 * FOOT * FOOT})], terms())
    line = way.lines[0]

    assert (line.quantity, line.amount) == (Decimal("0.5500"), Decimal("55.00"))
    assert line.details["factor"] == "1.1"


def test_an_assembly_that_the_job_does_not_carry_is_set_up_once_and_not_multiplied() -> None:
    # 0.5 h of set-up and 10 sq ft x 0.05; then 20 sq ft more without a second set-up.
    new = terms(carried=frozenset(), quoted=frozenset())
    works = [AssemblyWork("skin-off", "main", {"skin_area": each * FOOT * FOOT}) for each in (10, 20)]

    assert [line.quantity for line in price_way(works, new).lines if line.kind == "labour"] == [Decimal(1), Decimal(1)]


def test_goods_of_assemblies_are_bought_with_everything_before() -> None:
    # 80 sq ft more of membrane work: 1 gal of adhesive, (2 + 1) x 1.10 = 3.3, 4 packs less 3; 11 ft x 1.05 = 11.55 of membrane.
    measures = {"skin_area": 80 * FOOT * FOOT, "roof_length": 10 * FOOT}
    way = price_way([AssemblyWork("membrane-on", "main", measures)], terms())
    goods = {line.slug: line.quantity for line in way.lines if line.kind == "material"}

    assert goods == {"membrane": Decimal("11.55"), "adhesive": Decimal(1)}


def test_hidden_work_beyond_the_pot_is_priced_as_agreed() -> None:
    # 3 x 87.7112 = 263.1336; of it 7.7112 / 87.7112 = 0.0879... are parts: 23.13, rounded down; set-up once.
    way = price_way([RepairWork("opening_frame", "", Decimal(3))], terms())

    assert [(line.amount, line.tax_class) for line in way.lines] == [
        (Decimal("240.00"), "labour"),
        (Decimal("23.13"), "parts"),
        (Decimal("50.00"), "labour"),
    ]
    assert way.amount == Decimal("313.13")
    # 3 x 37.712 = 113.136, and 20.00 of set-up; neither supplies nor overhead.
    assert way.cost == Decimal("133.14")
    assert way.days == Decimal("0.30")


def test_a_set_up_that_was_charged_is_not_charged_again() -> None:
    charged = terms(repairs={("opening_frame", "framed"): replace(FRAME, charged=True)})

    assert price_way([RepairWork("opening_frame", "framed", Decimal(1))], charged).amount == Decimal("87.71")


def test_other_people_s_work_stands_at_its_price_without_overhead() -> None:
    way = price_way([SubcontractWork("Welding", Decimal("180.00"), Decimal("150.00"), "labour", "cracked bow")], terms())

    assert amounts(way) == [("subcontract", Decimal(1), Decimal("180.00"))]
    assert way.cost == Decimal("150.00")


def test_a_way_that_does_nothing_costs_nothing() -> None:
    assert price_way([], terms()).amount == 0


def test_a_wish_that_nobody_offered_is_priced_as_of_today() -> None:
    frozen = cost_base(severity())
    welder, plate = trade("welder", "60", "140.00"), material("plate", "ft", "1", "0", "job")
    today = replace(
        frozen,
        priced_on="2026-07-01",
        trades={"welder": welder, "technician": trade("technician", "1", "1.00")},
        materials={"plate": plate},
        prices={"plate": frozen.prices["membrane"]},
    )
    merged, added = laid_under(frozen, today)

    way = price_way(
        [HoursWork("welder", Decimal(1), "frame", "a rail"), HoursWork("technician", Decimal(1), "frame", "help")],
        terms(cost_base=merged, added=added, added_on="2026-07-01"),
    )

    # What the frozen base holds stays at its rates.
    assert [(line.amount, line.details.get("priced_on")) for line in way.lines[:2]] == [
        (Decimal("140.00"), "2026-07-01"),
        (Decimal("100.00"), None),
    ]


@pytest.mark.parametrize(
    ("work", "field", "words"),
    [
        (AssemblyWork("nothing", "main", {}), "works/0/assembly", "no assembly 'nothing'"),
        (AssemblyWork("skin-off", "attic", {}), "works/0/section", "say on which section"),
        (AssemblyWork("skin-off", "main", {"skin_area": 0.0}), "works/0/measures", "comes to nothing"),
        (AssemblyWork("skin-off", "main", {"brace_count": 1.0}), "works/0/measures/brace_count", "does not read"),
        (AssemblyWork("skin-off", "main", {"skin_area": -1.0}), "works/0/measures/skin_area", "expected"),
        (RepairWork("rafters", "", Decimal(1)), "works/0/component", "no unit price of 'rafters'"),
        (RepairWork("opening_frame", "", Decimal(0)), "works/0/extent", "above 0"),
        (HoursWork("welder", Decimal(1), "", "x"), "rates/welder", "no rate"),
        (HoursWork("helper", Decimal(0), "", "x"), "works/0/hours", "above 0"),
        (GoodsWork("adhesive", Decimal(0), "x"), "works/0/net", "above 0"),
        (HoursWork("helper", Decimal(9000), "", "x"), "works", "fewer than 1000 days"),
        (GoodsWork("nothing", Decimal(1), "x"), "materials/nothing", "not in force"),
    ],
)
def test_work_that_the_job_does_not_know_is_refused_by_name(work: Any, field: str, words: str) -> None:
    with pytest.raises(CalculationError, match=words) as refused:
        price_way([work], terms())
    assert refused.value.field == field


def test_of_two_constructions_one_has_to_be_said() -> None:
    two = terms(repairs={("deck", kind): replace(FRAME, slug="deck", construction=kind) for kind in ("framed", "laminated")})

    with pytest.raises(WorkError, match="say on which construction"):
        price_way([RepairWork("deck", "", Decimal(1))], two)


@given(
    goods=st.sampled_from(MATERIALS),
    nets=st.lists(st.decimals("0.0001", "500", places=4), min_size=1, max_size=8),
    by_use=st.booleans(),
)
def test_orders_together_buy_what_one_purchase_of_everything_would(goods: Any, nets: list[Decimal], by_use: bool) -> None:
    net = billed = Decimal(0)
    for each in nets:
        added = added_packs(goods, [Need("x", "", each)], Bought(net, billed), stock_by_use=by_use)
        assert added.billed >= 0
        net, billed = net + each, billed + added.billed
    at_once = added_packs(goods, [Need("x", "", net)], Bought(Decimal(0), Decimal(0)), stock_by_use=by_use)

    assert billed == at_once.billed


@given(extents=st.lists(st.decimals("0.01", "40", places=2), min_size=1, max_size=5))
def test_the_lines_of_a_way_add_up_to_its_amount(extents: list[Decimal]) -> None:
    works: list[Work] = [*PATCH, *(RepairWork("opening_frame", "framed", extent) for extent in extents)]
    way = price_way(works, terms(quoted()))

    assert way.amount == sum(line.amount for line in way.lines) == sum(way.by_class.values())
    assert sum(line.details.get("part") == "set_up" for line in way.lines) == 1
