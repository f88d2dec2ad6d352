"""What a return under warranty took, worked by hand, and that nothing of its entries is lost."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from quotes.calc.ledger import Part, Taken, took

D = Decimal


def taken(kind: str, quantity: str, cost: str, *, trade: str = "", goods: str = "", unit: str = "") -> Taken:
    return Taken(kind, trade, goods, unit, D(quantity), D(cost))


def test_hours_stand_by_trade_and_goods_by_name_and_unit() -> None:
    # 2 + 1.5 h less 0.5 h that were taken back; two packs less one that went back; a credit note of 4.00 brings none back.
    found = took(
        [
            taken("time", "2", "80.00", trade="technician", unit="h"),
            taken("time", "1.5", "37.50", trade="helper", unit="h"),
            taken("time", "-0.5", "-20.00", trade="technician", unit="h"),
            taken("purchase", "2", "108.00", goods="adhesive", unit="pack"),
            taken("returned", "1", "-54.00", goods="adhesive", unit="pack"),
            taken("credit", "1", "-4.00", goods="adhesive", unit="pack"),
            taken("subcontract", "1", "75.00", goods="a new vent"),
        ]
    )

    assert found.trades == (Part("helper", "h", D("1.5"), D("37.50")), Part("technician", "h", D("1.5"), D("60.00")))
    assert found.goods == (Part("adhesive", "pack", D(1), D("50.00")),)
    assert (found.hours, found.others, found.cost) == (D(3), D(75), D("222.50"))


def test_what_was_taken_back_whole_is_not_told() -> None:
    entries = [taken("time", hours, cost, trade="technician", unit="h") for hours, cost in (("2", "80"), ("-2", "-80"))]
    assert took(entries).trades == ()


entries = st.builds(
    Taken,
    st.sampled_from(["time", "issued", "returned", "purchase", "subcontract", "credit"]),
    st.sampled_from(["technician", "helper"]),
    st.sampled_from(["", "adhesive", "a board"]),
    st.sampled_from(["pack", "ft"]),
    st.decimals(-100, 100, places=4),
    st.decimals(-1000, 1000, places=2),
)


@given(st.lists(entries, max_size=8))
def test_all_parts_together_are_the_cost_of_all_entries(given_entries: list[Taken]) -> None:
    assert took(given_entries).cost == sum((entry.cost for entry in given_entries), D(0))
    assert took(given_entries).hours == sum((entry.quantity for entry in given_entries if entry.kind == "time"), D(0))
