"""Planned layouts beside an integer programme that bounds them from below: `tests/oracles/least_sheets.py`."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.sheets import Deck, LayingRules, SheetPlan, SheetSize, plan_sheets
from tests.calc.roofs import FOOT
from tests.oracles.laid_decks import check_plan
from tests.oracles.least_sheets import Size, least_price

STEP = 2 * FOOT
FOUR_BY_EIGHT: tuple[Size, float] = ((2, 4), 24.0)
FOUR_BY_TEN: tuple[Size, float] = ((2, 5), 28.0)


def plan_and_bound(
    decks: list[Size], sheets: list[tuple[Size, float]], joint_a_foot: float, stagger: int
) -> tuple[float, float, SheetPlan]:
    """Price of the plan with its joints, the bound of the integer programme, and the plan."""
    rules = LayingRules(stagger * STEP, STEP, joint_price_per_foot=Decimal(str(joint_a_foot)))
    wanted = tuple(Deck(f"deck {at}", length * STEP, arc * STEP) for at, (length, arc) in enumerate(decks))
    sizes = tuple(SheetSize(f"{a}x{b}", b * STEP, a * STEP, Decimal(str(price))) for (a, b), price in sheets)
    plan = plan_sheets(wanted, sizes, rules)
    check_plan(plan, wanted, sizes, rules)
    price = float(plan.cost) + joint_a_foot * plan.joint_length / FOOT
    return price, least_price(decks, sheets, joint_a_foot * STEP / FOOT), plan


def on_grid(plan: SheetPlan) -> bool:
    return all(abs(side / STEP - round(side / STEP)) < 1e-6 for piece in plan.pieces for side in (piece.length, piece.width))


@pytest.mark.parametrize(
    ("decks", "sheets", "joint", "stagger", "price"),
    [
        ([(8, 4)], [FOUR_BY_EIGHT], 0.0, 1, 96.0),  # 16 x 8 ft: 4 x 24.00
        ([(5, 3)], [FOUR_BY_EIGHT], 0.0, 1, 48.0),  # 10 x 6 ft: 2 x 24.00
        ([(5, 3)], [FOUR_BY_EIGHT], 3.0, 1, 90.0),  # and 14 ft of joint: 6 + 6 between courses, 2 within the third
        ([(7, 3)], [FOUR_BY_EIGHT, FOUR_BY_TEN], 0.0, 0, 72.0),
        ([(3, 5), (1, 2)], [FOUR_BY_EIGHT, FOUR_BY_TEN], 0.0, 0, 52.0),  # one sheet of each size, 36 ft2 for 34
        ([(6, 3), (2, 3)], [FOUR_BY_EIGHT], 0.0, 1, 72.0),
    ],
)
def test_small_roofs_cost_what_the_integer_programme_finds(
    decks: list[Size], sheets: list[tuple[Size, float]], joint: float, stagger: int, price: float
) -> None:
    planned, least, _ = plan_and_bound(decks, sheets, joint, stagger)
    assert planned == pytest.approx(price)
    assert least == pytest.approx(price)


@given(
    st.lists(st.tuples(st.integers(1, 8), st.integers(1, 5)), min_size=1, max_size=2),
    st.sampled_from([[FOUR_BY_EIGHT], [FOUR_BY_EIGHT, FOUR_BY_TEN]]),
    st.sampled_from([0.0, 0.5, 3.0]),
    st.integers(0, 1),
)
@settings(max_examples=25, deadline=None)
def test_no_plan_goes_below_the_integer_programme_and_none_far_above(
    decks: list[Size], sheets: list[tuple[Size, float]], joint: float, stagger: int
) -> None:
    planned, least, plan = plan_and_bound(decks, sheets, joint, stagger)
    if on_grid(plan):
        assert planned >= least - 1e-6
    # Without courses and stagger a joint or a sheet may be saved; more than one sheet never was.
    assert planned <= least + 28.0 + 1e-6
