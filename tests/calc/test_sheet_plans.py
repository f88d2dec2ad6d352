"""Planned layouts of decks: how many sheets they take, and whether they can be laid as they say.

Every plan is looked over by `tests/oracles/laid_decks.py`, which knows nothing of how it was made.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.geometry import crown_arc
from quotes.calc.sheets import Deck, LayingRules, LayoutError, SheetPlan, SheetSize, plan_sheets
from tests.calc.roofs import FOOT, INCH
from tests.oracles.laid_decks import check_plan

FOUR_BY_EIGHT = SheetSize("four-by-eight", 8 * FOOT, 4 * FOOT, Decimal(24))
FOUR_BY_TEN = SheetSize("four-by-ten", 10 * FOOT, 4 * FOOT, Decimal(31))
FIVE_BY_TEN = SheetSize("five-by-ten", 10 * FOOT, 5 * FOOT, Decimal(40))
RULES = LayingRules(stagger=1 * FOOT, least_piece=1 * FOOT)
# 0.03 h of a technician at 95.00, tape and filler: what a foot of joint comes to in the default cost base, rounded up.
JOINTED = LayingRules(stagger=1 * FOOT, least_piece=1 * FOOT, joint_price_per_foot=Decimal("3.40"))
ARC_34_FT = crown_arc(88 * INCH, 1.5 * INCH)  # 88.0682 in


def deck(length_ft: float, arc_ft: float, label: str = "main", supports_in: float = 0.0) -> Deck:
    count = int(length_ft * 12 / supports_in) if supports_in else -1
    return Deck(label, length_ft * FOOT, arc_ft * FOOT, tuple(supports_in * INCH * at for at in range(count + 1)))


def planned(decks: tuple[Deck, ...], sizes: tuple[SheetSize, ...], rules: LayingRules = RULES) -> SheetPlan:
    plan = plan_sheets(decks, sizes, rules)
    check_plan(plan, decks, sizes, rules)
    return plan


@pytest.mark.parametrize(
    ("length_ft", "arc_ft", "size", "sheets"),
    [
        (16.0, 8.0, FOUR_BY_EIGHT, 4),  # 128 / 32 = 4
        (20.0, 8.0, FOUR_BY_EIGHT, 5),  # 160 / 32 = 5
        (32.0, 8.0, FOUR_BY_EIGHT, 8),  # 256 / 32 = 8
        (10.0, 6.0, FOUR_BY_EIGHT, 2),  # 60 / 32 = 1.9: the 4 x 2 ft off-cuts of two sheets make the third course
        (30.0, 7.5, FOUR_BY_TEN, 6),  # 225 / 40 = 5.6
        (40.0, 10.0, FIVE_BY_TEN, 8),  # 400 / 50 = 8
    ],
)
def test_a_deck_takes_no_more_sheets_than_its_area(length_ft: float, arc_ft: float, size: SheetSize, sheets: int) -> None:
    for rules in (RULES, JOINTED):
        plan = planned((deck(length_ft, arc_ft),), (size,), rules)
        assert plan.counts == ((size.slug, sheets),)
        assert (plan.bound.sheets, plan.least_possible) == (sheets, True)


def test_a_deck_wider_than_a_sheet_is_long_takes_nine_where_courses_alone_take_ten() -> None:
    # 33.5 x 8.2 = 274.7 ft2 / 32 = 8.6, so 9 at least. Each course on its own: 9 sheets and a tenth for strips of a foot beside
    # them. With 4.2 ft of a sheet in one course and the 3.8 ft that are left of it in another, 9 are enough: eight courses of
    # 4 ft and one of 1.5 ft, 8 seams of 8.2 ft and 8 x 4 + 1.5 = 33.5 ft of ends, 99.1 ft.
    plan = planned((deck(33.5, 8.2),), (FOUR_BY_EIGHT,), JOINTED)
    assert (plan.counts, plan.bound.sheets, plan.least_possible) == ((("four-by-eight", 9),), 9, True)
    assert plan.joint_length / FOOT == pytest.approx(99.1)


def test_pieces_that_may_not_be_turned_all_lie_with_the_sheet_along_their_course() -> None:
    # 10 x 6 ft: turned, two off-cuts of 4 x 2 ft make the third course, 14 ft of joint. Not turned they are three.
    plan = planned((deck(10.0, 6.0),), (FOUR_BY_EIGHT,), LayingRules(1 * FOOT, 1 * FOOT, turned=False))
    assert plan.counts == (("four-by-eight", 2),)
    assert plan.joint_length / FOOT == pytest.approx(16.0)
    assert planned((deck(10.0, 6.0),), (FOUR_BY_EIGHT,)).joint_length / FOOT == pytest.approx(14.0)


def test_the_34_ft_sample_is_laid_across_whatever_the_stagger() -> None:
    # 34 x 7.3390 ft: nine sheets, 8 seams of 88.0682 in = 58.7121 ft. Courses across have one piece each: no ends to stagger.
    sample = Deck("main", 34 * FOOT, ARC_34_FT)
    for stagger in (0.0, 1.0):
        rules = LayingRules(stagger * FOOT, 1 * FOOT, joint_price_per_foot=Decimal("3.40"))
        plan = planned((sample,), (FOUR_BY_EIGHT,), rules)
        assert (plan.counts, plan.direction("main"), plan.course_count("main")) == ((("four-by-eight", 9),), "across", 9)
        assert plan.joint_length / FOOT == pytest.approx(58.7121, abs=5e-5)
        # 249.5265 / 32 = 7.8: eight sheets by area; the ninth is the price of 32 ft less joint.
        assert (plan.bound.sheets, plan.least_possible) == (8, False)


def test_the_34_ft_sample_laid_along_has_the_longer_joint() -> None:
    # Two courses: one seam of 34 ft, and four ends in each, 4 x (4 + 3.3390) = 29.3560 ft; together 63.3560 ft.
    plan = planned((Deck("main", 34 * FOOT, ARC_34_FT, (), ("along",)),), (FOUR_BY_EIGHT,), JOINTED)
    assert (plan.counts, plan.course_count("main")) == ((("four-by-eight", 9),), 2)
    assert plan.joint_length / FOOT == pytest.approx(63.3560, abs=1e-4)


def test_joints_that_cost_nothing_let_the_34_ft_sample_do_with_eight_sheets() -> None:
    plan = planned((Deck("main", 34 * FOOT, ARC_34_FT),), (FOUR_BY_EIGHT,))
    assert (plan.counts, plan.least_possible) == ((("four-by-eight", 8),), True)
    assert plan.joint_length / FOOT > 63.3560


def test_waste_is_what_is_bought_and_does_not_become_deck() -> None:
    # 9 x 32 = 288 ft2 for 249.5265 ft2: 13.36 %.
    plan = planned((Deck("main", 34 * FOOT, ARC_34_FT),), (FOUR_BY_EIGHT,), JOINTED)
    assert plan.waste_share == pytest.approx(0.1336, abs=5e-5)
    left = sum(part.length * part.width for part in plan.offcuts) / FOOT**2
    assert left == pytest.approx(288 - 249.5265, abs=5e-4)


def test_the_cheaper_size_is_bought_and_a_second_one_where_it_saves() -> None:
    # 16 x 10 ft: four courses of one 4 x 10 each, 124.00. Of 4 x 8 alone 5 sheets, 120.00, but with ends: 16 ft more joint.
    for joint, counts in (("0", (("four-by-eight", 5),)), ("3.40", (("four-by-ten", 4),))):
        rules = LayingRules(1 * FOOT, 1 * FOOT, joint_price_per_foot=Decimal(joint))
        assert planned((deck(16.0, 10.0),), (FOUR_BY_EIGHT, FOUR_BY_TEN), rules).counts == counts


def test_a_second_size_is_bought_only_where_it_saves_its_freight_too() -> None:
    # 34 ft laid along: 6 sheets of 10 ft and one of 8 ft, 6 x 26.00 + 24.00, save 36.00 and 2.6951 ft of joint, 9.16, against
    # nine of 8 ft.
    sample = Deck("main", 34 * FOOT, ARC_34_FT)
    rules = LayingRules(0.0, 1 * FOOT, joint_price_per_foot=Decimal("3.40"))
    for freight, counts in (("45.00", (("four-by-eight", 1), ("four-by-ten", 6))), ("46.00", (("four-by-eight", 9),))):
        ten = replace(FOUR_BY_TEN, price=Decimal("26.00"), freight=Decimal(freight))
        assert planned((sample,), (FOUR_BY_EIGHT, ten), rules).counts == counts


def test_an_offcut_of_one_section_serves_another() -> None:
    # 8 x 8 ft takes two sheets; 12 x 6 ft on its own three, of which it leaves 24 ft2; the 4 x 6 ft step on its own one.
    # Together 72 + 24 = 96 ft2 are three sheets: the off-cuts of 2 x 4 ft of three courses become the step.
    main, step = deck(12.0, 6.0), deck(4.0, 6.0, "step")
    assert [sum(n for _, n in planned((one,), (FOUR_BY_EIGHT,)).counts) for one in (main, step)] == [3, 1]
    plan = planned((main, step), (FOUR_BY_EIGHT,))
    assert (plan.counts, plan.least_possible) == ((("four-by-eight", 3),), True)
    assert {piece.deck for piece in plan.pieces if piece.from_offcut} >= {"step"}


def test_seams_across_the_coach_land_on_rafters() -> None:
    # Rafters at 16 in: courses of 48 in do; at 19.2 in only 38.4 in fit under 48 in, so 28 ft take 9 courses, not 7.
    on_16 = planned((deck(28.0, 7.84, supports_in=16.0),), (FOUR_BY_EIGHT,), JOINTED)
    assert (on_16.course_count("main"), sum(n for _, n in on_16.counts)) == (7, 7)
    on_19 = planned((replace(deck(28.0, 7.84, supports_in=19.2), directions=("across",)),), (FOUR_BY_EIGHT,), JOINTED)
    assert on_19.course_count("main") == 9


def test_supports_too_far_apart_for_a_sheet_are_refused() -> None:
    across = replace(deck(28.0, 7.84, supports_in=60.0), directions=("across",))
    with pytest.raises(LayoutError, match="keeps the stagger, the least piece and the supports") as caught:
        plan_sheets((across,), (FOUR_BY_EIGHT,), RULES)
    assert (caught.value.field, caught.value.code) == ("decks/0", "bad_layout")


def test_the_same_request_is_planned_once() -> None:
    again = LayingRules(stagger=1 * FOOT, least_piece=1 * FOOT)
    assert plan_sheets((deck(16.0, 8.0),), (FOUR_BY_EIGHT,), RULES) is plan_sheets((deck(16.0, 8.0),), (FOUR_BY_EIGHT,), again)


def test_a_deck_smaller_than_the_least_piece_is_laid_whole() -> None:
    plan = planned((deck(6.0, 0.5),), (FOUR_BY_EIGHT,))
    assert (len(plan.pieces), plan.joint_length) == (1, 0.0)


def test_a_deck_without_length_takes_nothing() -> None:
    plan = planned((deck(0.0, 0.0, "slide"), deck(16.0, 8.0)), (FOUR_BY_EIGHT,))
    assert (plan.direction("slide"), plan.course_count("slide"), plan.counts) == ("", 0, (("four-by-eight", 4),))
    nothing = planned((deck(0.0, 8.0),), (FOUR_BY_EIGHT,))
    assert (nothing.counts, nothing.cost, nothing.waste_share, nothing.least_possible) == ((), Decimal(0), 0.0, True)


def test_a_deck_that_floats_a_hair_over_a_whole_course_takes_no_sheet_more() -> None:
    assert planned((Deck("main", 0.1 * 3 * 160 * FOOT, 8 * FOOT),), (FOUR_BY_EIGHT,)).counts == (("four-by-eight", 12),)


@pytest.mark.parametrize(
    ("decks", "sizes", "rules", "field"),
    [
        ((deck(-1.0, 8.0),), (FOUR_BY_EIGHT,), RULES, "decks/0/length"),
        ((deck(8.0, float("nan")),), (FOUR_BY_EIGHT,), RULES, "decks/0/arc"),
        ((Deck("main", FOOT, FOOT, (-1.0,)),), (FOUR_BY_EIGHT,), RULES, "decks/0/supports"),
        ((deck(8.0, 8.0),), (), RULES, "sizes"),
        ((deck(8.0, 8.0),), (SheetSize("x", 0.0, 0.0, Decimal(1)),), RULES, "sizes/0/width"),
        ((deck(8.0, 8.0),), (SheetSize("x", FOOT, 2 * FOOT, Decimal(1)),), RULES, "sizes/0/length"),
        ((deck(8.0, 8.0),), (SheetSize("x", FOOT, FOOT, Decimal(0)),), RULES, "sizes/0/price"),
        ((deck(8.0, 8.0),), (SheetSize("x", FOOT, FOOT, Decimal(1), Decimal(-1)),), RULES, "sizes/0/freight"),
        ((deck(8.0, 8.0),), (FOUR_BY_EIGHT,), LayingRules(stagger=-1.0), "stagger"),
        ((deck(8.0, 8.0),), (FOUR_BY_EIGHT,), LayingRules(least_piece=float("inf")), "least_piece"),
        ((deck(8.0, 8.0),), (FOUR_BY_EIGHT,), LayingRules(joint_price_per_foot=Decimal(-1)), "joint_price_per_foot"),
        ((Deck("main", FOOT, FOOT, (), ()),), (FOUR_BY_EIGHT,), RULES, "decks/0/directions"),
        ((Deck("main", FOOT, FOOT, (), ("slanting",)),), (FOUR_BY_EIGHT,), RULES, "decks/0/directions"),
    ],
)
def test_what_cannot_be_laid_is_refused(
    decks: tuple[Deck, ...], sizes: tuple[SheetSize, ...], rules: LayingRules, field: str
) -> None:
    with pytest.raises(LayoutError) as caught:
        plan_sheets(decks, sizes, rules)
    assert (caught.value.field, caught.value.code) == (field, "bad_layout")


_SIDES = st.integers(6, 480).map(float)
_SIZES = st.lists(st.sampled_from([FOUR_BY_EIGHT, FOUR_BY_TEN, FIVE_BY_TEN]), min_size=1, max_size=2, unique=True).map(tuple)


@given(
    st.lists(st.tuples(_SIDES, st.integers(24, 108).map(float)), min_size=1, max_size=3),
    _SIZES,
    st.sampled_from([0.0, 6.0, 12.0, 24.0]),
    st.sampled_from([0.0, 6.0, 12.0]),
    st.booleans(),
    st.sampled_from(["0", "0.75", "3.40"]),
    st.sampled_from([0.0, 16.0, 24.0]),
)
@settings(max_examples=60, deadline=None)
def test_every_plan_can_be_laid(
    sides: list[tuple[float, float]],
    sizes: tuple[SheetSize, ...],
    stagger: float,
    least: float,
    turned: bool,
    joint: str,
    supports: float,
) -> None:
    decks = tuple(deck(length / 12, arc / 12, f"deck {at}", supports) for at, (length, arc) in enumerate(sides))
    rules = LayingRules(stagger * INCH, least * INCH, turned, Decimal(joint))
    try:
        planned(decks, sizes, rules)
    except LayoutError:
        # Only narrow pieces between supports can fail to keep a wide stagger; plain courses across always can be laid
        # where a sheet is as long as the deck is wide.
        assert supports or stagger
        assert any(arc > min(size.length for size in sizes) / INCH for _, arc in sides)


@given(st.integers(60, 480), st.integers(60, 108), st.sampled_from([FOUR_BY_EIGHT, FIVE_BY_TEN]))
@settings(max_examples=30, deadline=None)
def test_more_sizes_and_fewer_rules_never_cost_more_sheets_than_plain_courses(length: int, arc: int, size: SheetSize) -> None:
    # Plain courses across: ceil(arc / sheet length) x ceil(length / sheet width), an off-cut never used.
    whole = int(-(-arc * INCH // size.length) * -(-length * INCH // size.width)) * size.price
    free = LayingRules(0.0, 1 * FOOT)
    assert planned((deck(length / 12, arc / 12),), (size,), free).cost <= whole
