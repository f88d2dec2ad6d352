"""What a step comes to that is sold on its own, worked by hand on the small roof of DEVELOPERS.md section 1."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.money import currency
from quotes.calc.change_order import (
    EmptyStepError,
    OrderLine,
    added,
    price_alone,
    storage_line,
    taken_back,
    teardown_lines,
    with_shop_lines,
)
from quotes.calc.tax import LABOUR, PARTS, sum_by_class
from tests.scenarios import small_roof

USD = currency("USD")
BASE = small_roof.cost_base(small_roof.severity())
RULE = BASE.rule


def line(amount: str, *, kind: str = "labour", slug: str = "skin-off", tax_class: str = LABOUR) -> OrderLine:
    value = Decimal(amount)
    return OrderLine(kind, slug, "", slug, "strip", Decimal(1), "h", value, value, Decimal(0), tax_class, {"position": 1})


def row(slug: str, phase: str, *, kind: str = "labour", amount: str = "100.00") -> dict[str, object]:
    return {
        "position": 1, "kind": kind, "slug": slug, "trade": "", "name": slug, "phase": phase, "quantity": "1", "unit": "h",
        "price": amount, "amount": amount, "cost": "40.00", "details": {"net": "2.0"} if kind == "material" else {},
    }  # fmt: skip


def amounts(lines: Sequence[OrderLine]) -> dict[str, Decimal]:
    return {each.slug: each.amount for each in lines}


def test_the_work_carries_its_supplies_and_overhead_and_no_minimum() -> None:
    # Supplies 3 % of 935.00 = 28.05, below the cap of 60.00; overhead 8 % of 963.05 = 77.044. The minimum of 3,000.00 is the
    # whole job's.
    work = with_shop_lines([line("935.00")], RULE, USD)
    assert amounts(work) == {
        "skin-off": Decimal("935.00"), "shop-supplies": Decimal("28.05"), "overhead": Decimal("77.04"),
    }  # fmt: skip


def test_supplies_stop_at_their_cap() -> None:
    # 3 % of 2,100.00 = 63.00, at most 60.00; overhead 8 % of 2,160.00 = 172.80.
    work = with_shop_lines([line("2100.00")], RULE, USD)
    assert amounts(work) == {
        "skin-off": Decimal("2100.00"), "shop-supplies": Decimal("60.00"), "overhead": Decimal("172.80"),
    }  # fmt: skip


def test_the_limit_holds_work_closing_up_and_storage_with_the_tax_worked_once() -> None:
    # 1,040.09 + 649.64 + 10 x 15.00 = 1,839.73; tax 8.25 % = 151.7777 -> 151.78; 1,991.51, to whole units 1,992.00.
    work = with_shop_lines([line("935.00")], RULE, USD)
    closing = [line("649.64", slug="close-up")]
    alone = price_alone(work, closing, [storage_line(Decimal("15.00"), 10, USD)], RULE, USD)
    assert (alone.limit, alone.tax, alone.rounding, alone.limit_with_tax) == (
        Decimal("1839.73"), Decimal("151.78"), Decimal("0.49"), Decimal("1992.00"),
    )  # fmt: skip


def test_a_step_without_work_is_none() -> None:
    with pytest.raises(EmptyStepError):
        price_alone([], [line("649.64")], [], RULE, USD)


def test_a_teardown_takes_the_lines_up_to_the_inspection_as_they_are() -> None:
    rows = [
        row("intake", "survey"), row("skin-off", "strip"), row("deck-off", "teardown"), row("look", "inspect"),
        row("adhesive", "teardown", kind="material"), row("membrane-on", "skin"), row("overhead", "", kind="shop"),
    ]  # fmt: skip
    taken = teardown_lines(rows, BASE.materials, opens=True)
    assert [each.slug for each in taken] == ["intake", "skin-off", "deck-off", "look", "adhesive"]
    assert [each.tax_class for each in taken] == [LABOUR, LABOUR, LABOUR, LABOUR, PARTS]
    assert added(taken) == Decimal("500.00")


def test_a_plan_that_opens_nothing_has_no_teardown() -> None:
    with pytest.raises(EmptyStepError):
        teardown_lines([row("intake", "survey")], BASE.materials, opens=False)


amount_texts = st.integers(1, 10**7).map(lambda cents: str(Decimal(cents).scaleb(-2)))


@given(st.lists(st.tuples(amount_texts, st.sampled_from([LABOUR, PARTS])), min_size=1, max_size=8))
def test_what_is_taken_back_leaves_nothing_in_any_tax_class(parts: list[tuple[str, str]]) -> None:
    work = with_shop_lines([replace(line(text), tax_class=name) for text, name in parts], RULE, USD)
    both = [*work, *taken_back(work)]
    assert set(sum_by_class((each.tax_class, each.amount) for each in both).values()) == {Decimal(0)}
    assert added(both) == 0


@given(st.lists(amount_texts, min_size=1, max_size=5), st.lists(amount_texts, max_size=3), st.integers(0, 30))
def test_work_alone_with_tax_never_passes_the_limit_that_holds_its_closing_up(
    work: list[str], closing: list[str], days: int
) -> None:
    lines = [line(text) for text in work]
    storage = [storage_line(Decimal("15.00"), days, USD)] if days else []
    whole = price_alone(lines, [line(text) for text in closing], storage, RULE, USD)
    assert price_alone(lines, [], [], RULE, USD).limit_with_tax <= whole.limit_with_tax
    assert whole.limit_with_tax == whole.limit + whole.tax + whole.rounding
