"""Somebody else's estimate beside ours: an example by hand, what matches do, what is suggested and what is agreed."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.errors import CalculationFaults
from costbase.calc.money import currency
from quotes.calc.second_estimate import (
    STATES,
    Comparison,
    Decision,
    DecisionError,
    Measure,
    OurLine,
    Side,
    TheirLine,
    check_decisions,
    compare,
    settle,
    suggestions,
)

D = Decimal
USD = currency("USD")


def ours(ref: str, amount: str, *measures: tuple[str, str, str], name: str = "", phase: str = "", of: str = "") -> OurLine:
    found = tuple(Measure(D(quantity), unit, D(price)) for quantity, unit, price in measures)
    return OurLine(ref, name or ref, phase, (of or ref.split("/")[1],), found, D(amount))


def theirs(number: str, amount: str, *refs: str, **changes: Any) -> TheirLine:
    return replace(TheirLine(number, f"line {number}", "", "", None, "", None, D(amount), None, refs), **changes)


# Hours at a billed rate, and the same labour by the area that it covers: 935.00 / 160 sq ft = 5.84375.
SKIN_OFF = ours("labour/skin-off/technician", "935.00", ("9.3500", "h", "100.00"), ("160", "ft2", "5.84375"), name="Skin off")
MEMBRANE_ON = ours("labour/membrane-on/technician", "1000.00", ("10", "h", "100"), name="Membrane on", phase="skin")
HELPER = ours("labour/membrane-on/helper", "288.00", ("4.8", "h", "60"), name="Membrane on", phase="skin")
MEMBRANE = ours("material/membrane", "379.54", ("22.05", "ft", "17.2125"), name="Membrane, sold by the foot", of="membrane-on")
ADHESIVE = ours("material/adhesive", "218.70", ("3", "pail", "72.90"), ("3", "gal", "72.90"), name="Bonding adhesive")
OVERHEAD = ours("shop/overhead", "258.65", name="Overhead")
DECK = ours("component/deck", "0", name="Deck under the skin")
OURS = (SKIN_OFF, MEMBRANE_ON, HELPER, MEMBRANE, ADHESIVE, OVERHEAD, DECK)
QUOTE = Side(D("3079.89"), D("254.09"), D("0.02"))

THEIRS = (
    theirs("1", "900.00", SKIN_OFF.ref, quantity=D(150), unit="sq ft", price=D("6.00")),
    theirs("2", "1200.00", MEMBRANE_ON.ref, HELPER.ref, quantity=D(1), unit="job"),
    theirs("3", "360.00", MEMBRANE.ref, quantity=D(20), unit="feet", price=D("18.00")),
    theirs("4", "218.70", ADHESIVE.ref, quantity=D(3), unit="gal", price=D("72.90")),
    theirs("5", "240.00", DECK.ref, quantity=D(2), unit="sheet", price=D("120.00")),
    theirs("6", "75.00", description="Disposal"),
)


def compared(lines: tuple[TheirLine, ...] = THEIRS, stated: str | None = None) -> Comparison:
    return compare(OURS, lines, QUOTE, None if stated is None else D(stated), USD)


def shown(comparison: Comparison) -> list[tuple[str, str]]:
    return [(difference.key, str(difference.amount)) for difference in comparison.differences]


# The example ---------------------------------------------------------------------------------------------------

# Skin off: 935.00 - 900.00 = 35.00; quantity (160 - 150) x 5.84375 = 58.4375 -> 58.44, the rest 35.00 - 58.44 = -23.44 is the
# price (150 x (5.84375 - 6.00) = -23.4375). Membrane labour: 1288.00 - 1200.00. Membrane: 379.54 - 360.00 = 19.54; quantity
# (22.05 - 20) x 17.2125 = 35.2856 -> 35.29, price -15.75. Adhesive is alike. Together 35.00 + 88.00 + 19.54 + 258.65 - 240.00
# - 75.00 = 86.19.


def test_the_differences_of_the_example() -> None:
    found = compared()

    assert shown(found) == [
        ("quantity:1", "58.44"),
        ("price:1", "-23.44"),
        ("bundled:2", "88.00"),
        ("quantity:3", "35.29"),
        ("price:3", "-15.75"),
        ("not-in-theirs:shop/overhead", "258.65"),
        ("set-aside-in-ours:5", "-240.00"),
        ("not-in-ours:6", "-75.00"),
    ]
    assert (found.our_total, found.their_total, found.alike) == (D("3079.89"), D("2993.70"), 1)
    assert sum((difference.amount for difference in found.differences), D(0)) == D("86.19")
    assert found.warnings == ()


def test_a_quantity_is_told_in_our_unit() -> None:
    first = compared().differences[0]

    assert first.words == "ours 160 ft2, theirs 150.0000: 10.0000 at 5.84375"
    assert first.compared is not None
    assert (first.compared.unit, first.compared.theirs, first.compared.their_price) == ("ft2", D(150), D("6.00"))


def test_units_of_one_kind_are_turned_into_ours() -> None:
    # 2 yd2 is 18 ft2 at 54.00 a yd2: 6.00 a ft2; (160 - 18) x 5.84375 = 829.8125 -> 829.81; 935.00 - 108.00 = 827.00.
    line = theirs("1", "108.00", SKIN_OFF.ref, quantity=D(2), unit="yd2", price=D("54.00"))

    assert shown(compared((line,)))[:2] == [("quantity:1", "829.81"), ("price:1", "-2.81")]


def test_what_cannot_be_counted_alike_is_compared_by_its_amount() -> None:
    line = theirs("1", "900.00", SKIN_OFF.ref, quantity=D(1), unit="roof", price=D("900.00"))
    found = compared((line,)).differences[0]

    assert (found.key, found.amount) == ("amount:1", D("35.00"))
    assert found.words == "ours 935.00, theirs 900.00; their quantity cannot be counted as ours is"


def test_the_same_quantity_at_no_price_of_theirs_differs_by_the_amount() -> None:
    line = theirs("1", "900.00", SKIN_OFF.ref, quantity=D("9.35"), unit="h")
    assert shown(compared((line,)))[0] == ("amount:1", "35.00")


def test_a_sum_of_theirs_that_does_not_add_up_is_told() -> None:
    line = theirs("1", "930.00", SKIN_OFF.ref, quantity=D("9.35"), unit="h", price=D("100.00"))
    found = compared((line,), stated="940.00")

    assert shown(found)[0] == ("amount:1", "5.00")
    assert found.warnings == (
        "their line 1: 9.35 x 100 is 935.00, and their paper says 930.00",
        "their lines come to 930.00, and their paper states a total of 940.00",
    )


def test_several_lines_that_hang_together_are_one_group() -> None:
    # Line 1 is about both labour lines, line 2 about one of them and the membrane: all three stand against both.
    lines = (theirs("1", "1000.00", MEMBRANE_ON.ref, HELPER.ref), theirs("2", "500.00", HELPER.ref, MEMBRANE.ref))
    bundled = next(found for found in compared(lines).differences if found.kind == "bundled")

    assert bundled.ours == (MEMBRANE_ON.ref, HELPER.ref, MEMBRANE.ref)
    assert (bundled.theirs, bundled.amount) == (("1", "2"), D("167.54"))


def test_a_match_to_what_is_not_there_any_more_is_told_and_kept() -> None:
    found = compared((theirs("1", "900.00", "labour/gutter-on/technician"),))

    assert ("not-in-ours:1", "-900.00") in shown(found)
    words = (
        "their line 1 is matched to labour/gutter-on/technician, which is not in this quote; the match is kept, and counts not"
    )
    assert found.warnings == (words,)


def test_taxes_are_compared_where_theirs_state_any() -> None:
    # Ours 3079.89 + 254.09 + 0.02 = 3334.00; theirs 900.00 + 74.25 = 974.25.
    found = compared((theirs("1", "900.00", SKIN_OFF.ref, tax=D("74.25")),))

    assert found.with_tax
    assert (found.our_total, found.their_total) == (D("3334.00"), D("974.25"))
    assert shown(found)[-2:] == [("tax", "179.84"), ("rounding", "0.02")]
    assert sum((difference.amount for difference in found.differences), D(0)) == D("2359.75")


def test_figures_that_no_quote_can_hold_are_compared_by_their_amounts() -> None:
    dear = ours("material/gold", "1.00", ("9999999", "gal", "9999999999"))
    line = theirs("1", "2.00", dear.ref, quantity=D(1), unit="gal", price=D("2.00"))
    found = compare((dear,), (line,), Side(D("1.00"), None), None, USD)

    assert shown(found) == [("amount:1", "-1.00")]


# Whatever the matches, the differences add up ------------------------------------------------------------------------


@st.composite
def estimates(draw: st.DrawFn) -> tuple[TheirLine, ...]:
    refs = [line.ref for line in OURS] + ["labour/gone/technician"]
    lines = []
    for number in range(draw(st.integers(0, 8))):
        amount = D(draw(st.integers(-5_000, 200_000))).scaleb(-2)
        quantity = draw(st.one_of(st.none(), st.integers(0, 50_000).map(lambda n: D(n).scaleb(-2))))
        price = draw(st.one_of(st.none(), st.integers(0, 900_000).map(lambda n: D(n).scaleb(-4))))
        unit = draw(st.sampled_from(("h", "ft2", "sq yd", "m", "gal", "pail", "job", "")))
        tax = draw(st.one_of(st.none(), st.integers(0, 5_000).map(lambda n: D(n).scaleb(-2))))
        matched = tuple(draw(st.lists(st.sampled_from(refs), max_size=3, unique=True)))
        line = theirs(str(number), str(amount), *matched, quantity=quantity, unit=unit, price=price, tax=tax)
        lines.append(line)
    return tuple(lines)


@settings(max_examples=100)
@given(estimates())
def test_the_differences_add_up_to_our_total_less_theirs(lines: tuple[TheirLine, ...]) -> None:
    found = compared(lines)

    assert sum((difference.amount for difference in found.differences), D(0)) == found.our_total - found.their_total
    keys = [difference.key for difference in found.differences]
    assert len(keys) == len(set(keys))


@settings(max_examples=100)
@given(estimates(), st.lists(st.sampled_from(STATES), min_size=20, max_size=20), st.integers(-100, 300))
def test_what_is_agreed_open_and_given_up_add_up_to_our_total(
    lines: tuple[TheirLine, ...], states: list[str], percent: int
) -> None:
    found = compared(lines)
    decisions = [
        Decision(
            difference.key, state, "", (difference.amount * percent / 100).quantize(D("0.01")) if state == "split" else None
        )
        for difference, state in zip(found.differences, states, strict=False)
    ]
    settled = settle(found, decisions)

    assert settled.agreed + settled.still_open + settled.given_up == found.our_total


# Suggestions ----------------------------------------------------------------------------------------------------------


def suggested(description: str, **hints: str) -> list[tuple[str, str, float]]:
    line = theirs("1", "1.00", description=description, **hints)
    return [(found.ref, found.why, found.score) for found in suggestions(line, OURS)]


def test_lines_of_the_hinted_assembly_are_suggested_and_nothing_else() -> None:
    assert suggested("anything", assembly="membrane-on") == [
        (MEMBRANE_ON.ref, "same assembly", 1.0),
        (HELPER.ref, "same assembly", 1.0),
        (MEMBRANE.ref, "same assembly", 1.0),
    ]


def test_otherwise_words_in_common_are_counted() -> None:
    # "Take the skins off": take, skin, off; "Skin off": skin, off: 2 of 3. "Deck under the skin": deck, under, skin: 1 of 5.
    assert suggested("Take the skins off") == [
        (SKIN_OFF.ref, "words in common", 0.67),
        (DECK.ref, "words in common", 0.2),
    ]


def test_a_hinted_phase_comes_before_others() -> None:
    # "Membrane glued" and "Membrane on" (on is too short a word): 1 of 2; "Membrane, sold by the foot": 1 of 4.
    assert [ref for ref, _, _ in suggested("Membrane glued")] == [MEMBRANE_ON.ref, HELPER.ref, MEMBRANE.ref]
    assert [ref for ref, _, _ in suggested("Membrane glued", phase="skin")] == [MEMBRANE_ON.ref, HELPER.ref]


def test_nothing_in_common_suggests_nothing() -> None:
    assert suggested("Haul away debris", assembly="gutter-on") == []
    assert suggested("") == []


# What was agreed ------------------------------------------------------------------------------------------------------


def test_what_is_agreed_in_the_example() -> None:
    # Theirs 2993.70. They take over our overhead, 258.65, and half of the bundle, 44.00; we drop the quantity of skin, 58.44.
    # Agreed 3296.35, given up 58.44 + 44.00 = 102.44, open -23.44 + 35.29 - 15.75 - 240.00 - 75.00 = -318.90.
    settled = settle(
        compared(),
        [
            Decision("not-in-theirs:shop/overhead", "agreed-ours", "they forgot it", None),
            Decision("bundled:2", "split", "met in the middle", D("44.00")),
            Decision("quantity:1", "agreed-theirs", "measured again together", None),
        ],
    )

    assert (settled.agreed, settled.given_up, settled.still_open) == (D("3296.35"), D("102.44"), D("-318.90"))
    assert [decision.state for decision in settled.decisions][:3] == ["agreed-theirs", "open", "split"]
    assert settled.warnings == ()


def test_a_decision_that_fits_no_more_is_kept_and_told() -> None:
    gone, wide = Decision("quantity:9", "agreed-ours", "", None), Decision("bundled:2", "split", "", D("88.01"))
    settled = settle(compared(), [gone, wide])

    assert settled.still_open == D("86.19")
    assert settled.warnings == (
        "quantity:9 is no difference any more; what was written about it is kept",
        "bundled:2 comes to 88.00, of which 88.01 cannot stay as ours",
    )


@pytest.mark.parametrize(
    ("decisions", "field"),
    [
        ([Decision("tax", "open", "", None), Decision("tax", "open", "", None)], "decisions/1/difference"),
        ([Decision("tax", "split", "", None)], "decisions/0/kept"),
        ([Decision("tax", "open", "", D(1))], "decisions/0/kept"),
    ],
)
def test_decisions_that_contradict_themselves_are_refused(decisions: list[Decision], field: str) -> None:
    with pytest.raises(DecisionError) as refused:
        check_decisions(decisions)
    assert refused.value.field == field


def test_all_faults_of_decisions_are_told_at_once() -> None:
    with pytest.raises(CalculationFaults):
        check_decisions([Decision("tax", "split", "", None), Decision("tax", "open", "", None)])
