"""The pure part of the ledger: what an entry says, where it belongs, what it is worth, and what entries come to."""

import uuid
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.cost_base import EditionRef, Trade
from costbase.calc.money import currency
from quotes.calc.ledger import (
    BeforeReturnError,
    CoveredWorkError,
    Entry,
    Goods,
    InvoiceLine,
    JobPlaces,
    Line,
    Moved,
    Order,
    Place,
    Planned,
    Return,
    Said,
    Sum,
    UnknownPlaceError,
    compared_hours,
    digest,
    fold,
    hours_faults,
    hours_worth,
    invoiced_worth,
    match_material,
    payroll_hours,
    place_of,
)

D = Decimal
USD = currency("USD")
TRADE = Trade(
    "technician", "Technician", D("48.00"), D("135.00"), D("1.5"), EditionRef("rate", "technician", "shop", "2026-01-01")
)
PLACES = JobPlaces(
    number="J-2026-1",
    lines={
        1: Line(1, "labour", "skin-off", "technician", "strip", ("skin-off",)),
        2: Line(2, "labour", "skin-off", "helper", "strip", ("skin-off",)),
        3: Line(3, "labour", "deck-bond", "technician", "deck", ("deck-bond",)),
        4: Line(4, "material", "glue", "", "deck", ("deck-bond", "skin-on")),
    },
    components=frozenset({"deck"}),
    orders={
        1: Order(1, 71, "accepted", ("deck",), "Deck"),
        2: Order(2, 72, "waiting", ("deck-bond", "rafters"), "Rafters"),
        3: Order(3, 73, "draft", ("skin-off",), "Skin"),
    },
)


def said(kind: str = "time", **changes: Any) -> Said:
    return Said(str(uuid.UUID(int=1)), kind, "2026-03-02", job=1, worker=1, quantity=D(1), **changes)


# Hours and amounts.


def test_overtime_costs_its_factor_and_is_billed_as_any_hour() -> None:
    # 2.5 x 48.00 = 120.00; x 1.5 = 180.00; 2.5 x 130.00 = 325.00 at the rate that the job was sold on.
    plain = hours_worth(D("2.5"), TRADE, D("130.00"), USD, overtime=False)
    over = hours_worth(D("2.5"), TRADE, D("130.00"), USD, overtime=True)

    assert (plain.rate, plain.cost, plain.value) == (D("48"), D("120.00"), D("325.00"))
    assert (over.rate, over.cost, over.value) == (D("72"), D("180.00"), D("325.00"))


def test_half_a_cent_of_cost_is_rounded_up_once() -> None:
    # 0.3333 h x 48.00 x 1.5 = 23.9976; 1 x 1.005 is half a cent over 1.00.
    assert hours_worth(D("0.3333"), TRADE, D("135.00"), USD, overtime=True).cost == D("24.00")
    assert invoiced_worth(D(1), D("1.005"), D(0), USD).cost == D("1.01")
    # A credit takes back exactly what was charged.
    assert invoiced_worth(D(1), D("-1.005"), D("0.35"), USD).cost == D("-1.01")


# What is said.


def test_two_entries_say_the_same_if_their_figures_are_the_same_numbers() -> None:
    entry = said()

    assert digest(replace(entry, quantity=D("1.50"))) == digest(replace(entry, quantity=D("1.5")))
    assert digest(replace(entry, quantity=D("10"))) == digest(replace(entry, quantity=D("1E+1")))
    for other in (
        replace(entry, day="2026-03-03"), replace(entry, overtime=True), replace(entry, note="x"), replace(entry, job=2),
        replace(entry, returnable=False), replace(entry, line=1), replace(entry, change_order=1),
    ):  # fmt: skip
        assert digest(other) != digest(entry)
    assert digest(replace(entry, returnable=False)) != digest(replace(entry, returnable=True))


def test_the_entry_that_passes_24_hours_is_named_once_a_worker_and_day() -> None:
    entries = [(at, replace(said(), quantity=D(hours))) for at, hours in enumerate(("10", "10", "3", "1"))]

    faults = list(hours_faults(entries, {(1, "2026-03-02"): D(2)}, {1: "Bench two"}))

    # 2 + 10 + 10 = 22; the third makes 25.
    assert [fault.field for fault in faults] == ["entries/2/hours"]
    assert "Bench two has 2 hours on 2026-03-02 already; with this batch it would be 25" in faults[0].message
    assert not list(hours_faults(entries[:2], {(1, "2026-03-02"): D(4)}, {1: "Bench two"}))


# Places.


def test_an_assembly_stands_on_the_line_of_its_trade_else_on_its_first() -> None:
    assert place_of(said(assembly="skin-off"), "helper", PLACES) == Place(line=2, assembly="skin-off", phase="strip")
    assert place_of(said(assembly="skin-off"), "fabricator", PLACES).line == 1
    assert place_of(said(line=1, phase="deck"), "helper", PLACES) == Place(line=1, assembly="skin-off", phase="deck")
    assert not place_of(said(), "helper", PLACES).quoted


def test_what_names_a_return_stands_on_that_alone() -> None:
    came = replace(PLACES, returns={81: Return(81, 1, "2026-03-02")})
    # The job has a line of glue: in a return it is not that of the line.
    place = place_of(said("issued", material="glue", warranty_return=81), "", came)
    assert (place, place.quoted) == (Place(warranty_return=81), True)
    with pytest.raises(UnknownPlaceError, match=r"no return 82; expected the id of one of its own: 81 \(number 1\)"):
        place_of(said(warranty_return=82), "helper", came)
    with pytest.raises(UnknownPlaceError, match="one of its own: none"):
        place_of(said(warranty_return=81), "helper", PLACES)
    with pytest.raises(BeforeReturnError, match="came on 2026-03-02"):
        place_of(replace(said(warranty_return=81), day="2026-03-01"), "helper", came)


def test_a_material_finds_its_line_and_an_unknown_one_none() -> None:
    assert place_of(said("issued", material="glue"), "", PLACES).line == 4
    assert not place_of(said("issued", material="rope"), "", PLACES).quoted
    # For an assembly that its line is for, on that line; for another one, on the assembly's own.
    free = replace(PLACES, orders={})
    assert place_of(said("used", material="glue", assembly="deck-bond"), "", free)[:2] == (4, "deck-bond")
    assert place_of(said("used", material="glue", assembly="skin-off"), "", free)[:2] == (1, "skin-off")


def test_hours_belong_to_lines_of_labour() -> None:
    with pytest.raises(UnknownPlaceError, match="line 4 of J-2026-1 is 'glue'; hours belong to a line of labour"):
        place_of(said(line=4), "technician", PLACES)
    assert place_of(said("purchase", line=4), "", PLACES).line == 4


def test_work_that_waits_is_refused_and_goods_that_other_work_needs_are_not() -> None:
    with pytest.raises(CoveredWorkError, match="change order 2, 'Rafters'"):
        place_of(said(assembly="deck-bond"), "technician", PLACES)
    with pytest.raises(CoveredWorkError):
        place_of(said("used", material="glue", assembly="deck-bond"), "", PLACES)
    # Glue is for skin-on too, which nothing waits for; and an invoice is a fact, whatever waits.
    assert place_of(said("issued", material="glue"), "", PLACES).line == 4
    assert place_of(said("purchase", line=3), "", PLACES).line == 3
    # A draft covers nothing yet, an accepted order no more.
    assert place_of(said(assembly="skin-off"), "technician", PLACES).line == 1
    assert place_of(said(component="deck"), "technician", PLACES).component == "deck"


def test_an_order_takes_entries_once_it_was_accepted_or_carried() -> None:
    carried = replace(PLACES, orders={4: Order(4, 74, "carried", (), "Seam")})

    assert place_of(said(change_order=1), "technician", PLACES).change_order == 71
    assert place_of(said(change_order=4), "technician", carried).change_order == 74
    with pytest.raises(CoveredWorkError):
        place_of(said(change_order=2), "technician", PLACES)
    for number in (3, 9):
        with pytest.raises(UnknownPlaceError):
            place_of(said(change_order=number), "technician", PLACES)


# Sums.

KINDS = st.sampled_from(["time", "issued", "returned", "used", "purchase", "subcontract", "credit"])
AMOUNTS = st.integers(-10_000, 10_000).map(lambda cents: D(cents).scaleb(-2))
ENTRIES = st.builds(
    Entry,
    kind=KINDS,
    line=st.none() | st.integers(1, 4),
    component=st.sampled_from(["", "deck"]),
    change_order=st.none() | st.integers(71, 72),
    quantity=AMOUNTS,
    cost=AMOUNTS,
    value=AMOUNTS,
)


@given(st.lists(ENTRIES, max_size=30), st.randoms(use_true_random=False))
def test_parts_by_kind_and_by_place_add_up_to_the_total_in_any_order(entries: list[Entry], chance: Any) -> None:
    costs = fold(entries)
    places = [*costs.by_line.values(), *costs.by_component.values(), *costs.by_order.values(), *costs.by_return.values()]

    for parts in (list(costs.by_kind.values()), [*places, costs.not_quoted]):
        for name in ("hours", "cost", "value"):
            assert sum((getattr(part, name) for part in parts), D(0)) == getattr(costs.total, name)
    chance.shuffle(entries)
    assert fold(entries) == costs


@given(st.lists(ENTRIES, max_size=20))
def test_taking_everything_back_leaves_nothing(entries: list[Entry]) -> None:
    back = [entry._replace(quantity=-entry.quantity, cost=-entry.cost, value=-entry.value) for entry in entries]
    costs = fold([*entries, *back])

    assert costs.total == costs.not_quoted == Sum()
    assert set(costs.by_line.values()) | set(costs.by_kind.values()) <= {Sum()}


@given(st.lists(st.tuples(st.sampled_from(["time", "other_hours"]), st.integers(1, 240_000).map(lambda n: D(n).scaleb(-4)))))
def test_payroll_hours_are_job_hours_and_other_hours(entries: list[tuple[str, Decimal]]) -> None:
    on_jobs, other = payroll_hours(entries)
    assert on_jobs + other == sum((hours for _, hours in entries), D(0))


def test_planned_and_worked_hours_stand_beside_each_other() -> None:
    told = list(compared_hours([("deck", D(3)), ("deck", D(1))], [("deck", D(5)), ("skin", D(2))]))
    assert [tuple(line) for line in told] == [("deck", D(4), D(5), D(-1)), ("skin", D(0), D(2), D(-2))]


# The match of plan, purchase and use.

STRIP = Goods(pack_size=D(8), waste_share=D("0.12"), by_use=False, pack_price=D("6.80"))


def test_packs_and_units_of_use_are_compared_in_units_of_use() -> None:
    moved = [
        Moved("purchase", "pack", "", D(5)), Moved("issued", "use", "job", D(40)), Moved("used", "use", "job", D(33)),
        Moved("returned", "use", "job", D(4)),
    ]  # fmt: skip
    found = match_material(STRIP, [Planned(D(5), D(34)), Planned(D(1), D(2))], moved, [])

    # 6 packs of 8 = 48 planned, 40 bought less 4 back; 40 - 33 - 4 = 3 nobody accounts for.
    assert (found.planned, found.planned_net, found.bought, found.supplied, found.left) == (D(48), D(36), D(40), D(36), D(3))
    assert found.flags == ("issued_not_used",)


def test_stock_that_is_billed_by_use_is_planned_with_its_waste_only() -> None:
    # 36 ft and 12 % = 40.32 ft.
    by_use = replace(STRIP, by_use=True)
    found = match_material(by_use, [Planned(D(6), D(36))], [Moved("issued", "use", "stock", D(41))], [])
    assert (found.planned, found.flags) == (D("40.32"), ("more_than_planned", "issued_not_used"))


def test_a_dearer_foot_and_a_dearer_pack_are_told() -> None:
    # A foot is 0.85.
    lines = [
        InvoiceLine(1, "pack", D("6.80"), ("Invented", "A", 1)), InvoiceLine(2, "use", D("0.86"), ("Invented", "A", 2)),
        InvoiceLine(3, "pack", D("6.81"), ("Invented", "B", None)), InvoiceLine(4, "use", D("0.85"), ("Invented", "B", None)),
    ]  # fmt: skip
    found = match_material(STRIP, [Planned(D(9), D(70))], [], lines)
    assert (found.dearer, found.flags) == ((2, 3), ("price_above",))
    unpriced = match_material(replace(STRIP, pack_price=None), [], [], lines)
    assert (unpriced.dearer, unpriced.flags) == ((), ("not_planned",))
