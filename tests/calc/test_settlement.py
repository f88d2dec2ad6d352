"""The settlement of a stopped job: a roof that was declined after teardown, worked by hand, and what must hold of any."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.money import currency
from quotes.actions.quote_rows import line_rows
from quotes.calc.change_order import line_tax_class
from quotes.calc.change_order.settlement import (
    Done,
    Further,
    SettlementError,
    Sold,
    Stopped,
    Storage,
    settle,
)
from tests.scenarios.small_roof import MATERIALS, quoted, rule

USD = currency("USD")
QUOTED = {"skin-off": "160", "membrane-on": "160", "bead": "56", "backing-frame": "1"}
GOODS = {"membrane": "22.05", "adhesive": "3", "sealant": "2.8515", "strip": "6.72"}
COVER = Further("labour", "A cover over the open roof", Decimal(2), "h", Decimal(100), Decimal("200.00"), "labour")


def sold() -> tuple[Sold, ...]:
    materials = {goods.slug: goods for goods in MATERIALS}
    return tuple(
        Sold(
            kind=row["kind"],
            slug=row["slug"],
            name=row["name"],
            order=0,
            quantity=Decimal(row["quantity"]),
            unit=row["unit"],
            price=Decimal(row["price"]),
            amount=Decimal(row["amount"]),
            tax_class=line_tax_class(row, materials),
            counted_price=Decimal(row["details"]["counted"]["unit_price"]) if "counted" in row["details"] else None,
            counted_set_up=Decimal(row["details"].get("counted", {}).get("set_up", 0)),
        )
        for row in line_rows(quoted())
    )


def stopped(done: dict[str, str], kept: dict[str, str], **changes: Any) -> Stopped:
    whole = Stopped(
        sold=sold(),
        done={slug: Done(Decimal(QUOTED[slug]), Decimal(extent)) for slug, extent in done.items()},
        orders={},
        kept={slug: Decimal(quantity) for slug, quantity in kept.items()},
        drawn=Decimal(0),
        drawn_parts=Decimal(0),
        close_up=(),
        storage=None,
        paid=Decimal(0),
        most=Decimal("3929.00"),
    )
    return replace(whole, **changes)


def test_a_roof_that_was_declined_after_teardown() -> None:
    # The skin is off: 935.00. Three gallons of adhesive stay: 218.70; the membrane goes back. Supplies 60.00 x 935 / 2,521 =
    # 22.25. Overhead 258.65 x (935.00 + 218.70 + 22.25 = 1,175.95) / 3,233.14 = 94.0759 -> 94.08. A cover 200.00, and five days
    # at 20.00. Together 1,570.03; tax 8.25 % = 129.53; 1,699.56 to 1,700.00; 1,000.00 were paid.
    settled = settle(
        stopped(
            {"skin-off": "160"},
            {"adhesive": "3"},
            close_up=(COVER,),
            storage=Storage(Decimal(5), Decimal(20), "labour"),
            paid=Decimal(1000),
        ),
        rule(),
        USD,
    )

    assert [(line.name, line.amount) for line in settled.lines] == [
        ("skin-off", Decimal("935.00")),
        ("adhesive", Decimal("218.70")),
        ("Shop supplies", Decimal("22.25")),
        ("Overhead", Decimal("94.08")),
        ("A cover over the open roof", Decimal("200.00")),
        ("Storage", Decimal("100.00")),
    ]
    assert (settled.amount, settled.tax, settled.rounding) == (Decimal("1570.03"), Decimal("129.53"), Decimal("0.44"))
    assert (settled.with_tax, settled.cut, settled.due) == (Decimal("1700.00"), Decimal(0), Decimal("700.00"))


def test_a_coach_of_a_fleet_keeps_its_share_of_the_lot_s_tax() -> None:
    # Two days at 50.00: 100.00, tax 8.25; with a cent less of the lot's tax 8.24. Nothing done is nothing taxed.
    less = {"Sales tax": Decimal("-0.01")}
    storage = Storage(Decimal(2), Decimal(50), "labour")
    assert settle(stopped({}, {}, storage=storage), rule(), USD).tax == Decimal("8.25")
    assert settle(stopped({}, {}, storage=storage, tax_apart=less), rule(), USD).tax == Decimal("8.24")
    assert settle(stopped({}, {}, tax_apart=less), rule(), USD).tax == 0


def test_a_started_line_is_settled_by_its_share() -> None:
    # 40 of 160 sq ft: a quarter of 1,000.00 and of 288.00.
    settled = settle(stopped({"membrane-on": "40"}, {}), rule(), USD)

    assert [line.amount for line in settled.lines if line.kind == "labour"] == [Decimal("250.00"), Decimal("72.00")]


def test_hidden_work_that_was_found_is_paid() -> None:
    settled = settle(stopped({}, {}, drawn=Decimal("137.71"), drawn_parts=Decimal("7.71")), rule(), USD)

    assert [(line.amount, line.tax_class) for line in settled.lines] == [
        (Decimal("130.00"), "labour"),
        (Decimal("7.71"), "parts"),
    ]


def test_a_change_order_is_settled_by_its_share_and_its_goods() -> None:
    # Half of 200.00; its own pack of adhesive stays once the quote's three are used up.
    labour = Sold("labour", "hours-technician", "patch", 1, Decimal(2), "h", Decimal(100), Decimal("200.00"), "labour")
    pack = Sold("material", "adhesive", "adhesive", 1, Decimal(1), "pack", Decimal("72.90"), Decimal("72.90"), "parts")
    overhead = Sold("shop", "overhead", "Overhead", 1, Decimal(1), "job", Decimal("21.83"), Decimal("21.83"), "labour")
    both = stopped({}, {"adhesive": "4"}, orders={1: Decimal("0.5")})

    settled = settle(replace(both, sold=(*both.sold, labour, pack, overhead)), rule(), USD)

    # Overhead 21.83 x 172.90 / 272.90 = 13.8307.
    assert [line.amount for line in settled.lines if line.order == 1] == [
        Decimal("100.00"),
        Decimal("72.90"),
        Decimal("13.83"),
    ]


def test_no_more_than_is_authorised_is_asked_for() -> None:
    settled = settle(stopped({}, {}, storage=Storage(Decimal(100), Decimal(50), "labour")), rule(), USD)

    assert (settled.with_tax, settled.cut) == (Decimal("3929.00"), Decimal("1484.00"))  # 5,412.50 to 5,413.00


def test_everything_done_is_the_bill() -> None:
    # The page's visible work with tax: 3,780.00.
    settled = settle(stopped(QUOTED, GOODS), rule(), USD)

    assert (settled.amount, settled.with_tax) == (Decimal("3491.79"), Decimal("3780.00"))


@pytest.mark.parametrize(
    ("done", "kept", "field"),
    [({"skin-off": "161"}, {}, "done/skin-off"), ({}, {"adhesive": "4"}, "kept/adhesive"), ({}, {"nails": "1"}, "kept/nails")],
)
def test_more_than_was_sold_is_refused(done: dict[str, str], kept: dict[str, str], field: str) -> None:
    with pytest.raises(SettlementError) as refused:
        settle(stopped(done, kept), rule(), USD)
    assert refused.value.field == field


@given(
    shares=st.fixed_dictionaries({slug: st.integers(0, 100) for slug in QUOTED}),
    goods=st.fixed_dictionaries({slug: st.integers(0, 100) for slug in GOODS}),
    days=st.integers(0, 400),
)
def test_a_settlement_never_passes_what_was_sold_nor_what_is_authorised(
    shares: dict[str, int], goods: dict[str, int], days: int
) -> None:
    done = {slug: str(Decimal(QUOTED[slug]) * share / 100) for slug, share in shares.items()}
    kept = {slug: str((Decimal(GOODS[slug]) * share / 100).quantize(Decimal("0.01"))) for slug, share in goods.items()}
    kept = {slug: str(min(Decimal(value), Decimal(GOODS[slug]))) for slug, value in kept.items()}
    storage = Storage(Decimal(days), Decimal(20), "labour")

    settled = settle(stopped(done, kept, storage=storage), rule(), USD)

    assert all(line.amount <= line.of for line in settled.lines)
    assert settled.with_tax <= Decimal("3929.00")
    assert settled.amount + settled.tax + settled.rounding - settled.cut == settled.with_tax
    assert sum(line.amount for line in settled.lines) == settled.amount == sum(settled.by_class.values())
