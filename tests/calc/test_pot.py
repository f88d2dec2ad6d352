"""Draws on the pot and counted work, worked by hand on the small roof of DEVELOPERS.md section 1."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.money import currency
from quotes.calc.found import (
    AgreedComponent,
    CountedBeyondError,
    CountedLine,
    CountedNotedError,
    Draw,
    Drawn,
    MoreThanExposedError,
    NoAgreedPriceError,
    NotCountedError,
    Pot,
    PotPassedError,
    draw,
    left_by_component,
    repaired_by,
    settle,
    share_of_parts,
)
from quotes.calc.found.pot import BadFoundExtentError

USD = currency("USD")
FRAME = AgreedComponent(
    slug="opening_frame",
    construction="framed",
    unit="each",
    exposure=Decimal("1.0000"),
    unit_price=Decimal("87.711200"),
    set_up=Decimal("50.00"),
    labour_part=Decimal("80.000000"),
    material_part=Decimal("7.711200"),
    allowance=Decimal("41.32"),
    assemblies=("backing-frame",),
)
POT = Pot(Decimal("137.71"))


def test_a_frame_takes_the_whole_pot() -> None:
    # 1 x 87.7112 = 87.71 and the set-up of 50.00; parts 87.71 x 7.7112 / 87.7112 = 7.7111, down to 7.71.
    drawn = draw(POT, FRAME, Decimal(1), USD)
    assert drawn == Draw("opening_frame", "framed", Decimal(1), Decimal("87.71"), Decimal("50.00"), Decimal("7.71"))
    after = POT.after(drawn)
    assert (after.taken, after.left) == (Decimal("137.71"), Decimal("0.00"))
    # Its allowance was 41.32: the reserve paid for the rest.
    assert left_by_component(after, [FRAME]) == (("opening_frame", "framed", Decimal("-96.39")),)


def test_a_set_up_that_a_change_order_has_charged_comes_with_no_note() -> None:
    ordered = Pot(Decimal("137.71"), ordered=frozenset({"opening_frame"}))
    drawn = draw(ordered, FRAME, Decimal(1), USD)
    assert drawn.set_up == 0
    assert ordered.after(drawn).ordered == ordered.ordered


def test_the_set_up_comes_with_the_first_note_only() -> None:
    two = replace(FRAME, exposure=Decimal(2))
    pot = Pot(Decimal("300.00"))
    pot = pot.after(draw(pot, two, Decimal(1), USD))
    second = draw(pot, two, Decimal(1), USD)
    assert (second.work, second.set_up) == (Decimal("87.71"), Decimal(0))
    # On another construction of the same component it was charged too.
    assert draw(pot, replace(two, construction="metal"), Decimal(1), USD).set_up == 0


def test_what_is_corrected_away_gives_its_set_up_back() -> None:
    first = draw(POT, FRAME, Decimal(1), USD)
    back = POT.after(first).after(first.back())
    assert back.left == Decimal("137.71")
    assert draw(back, FRAME, Decimal(1), USD) == first


def test_what_passes_the_pot_is_refused_and_not_cut_down() -> None:
    with pytest.raises(PotPassedError, match="expected a change order") as refused:
        draw(Pot(Decimal("137.70")), FRAME, Decimal(1), USD)
    assert (refused.value.left, refused.value.wanted) == (Decimal("137.70"), Decimal("137.71"))


def test_no_more_is_drawn_than_was_exposed() -> None:
    with pytest.raises(MoreThanExposedError) as refused:
        draw(Pot(Decimal(1000)), FRAME, Decimal("1.0001"), USD)
    assert (refused.value.left, refused.value.wanted) == (Decimal("1.0000"), Decimal("1.0001"))
    pot = Pot(Decimal(1000), {("opening_frame", "framed"): Drawn(Decimal("0.75"), Decimal(50), Decimal("115.78"))})
    with pytest.raises(MoreThanExposedError, match=r"more than the 0\.2500 each"):
        draw(pot, FRAME, Decimal("0.5"), USD)


def test_nothing_is_drawn_without_an_agreed_price() -> None:
    with pytest.raises(NoAgreedPriceError):
        draw(POT, replace(FRAME, unit_price=Decimal(0)), Decimal(1), USD)


@pytest.mark.parametrize("extent", ["0", "-1"])
def test_an_extent_is_above_nothing(extent: str) -> None:
    with pytest.raises(BadFoundExtentError):
        draw(POT, FRAME, Decimal(extent), USD)


def test_parts_are_a_share_from_nothing_to_all() -> None:
    assert share_of_parts(replace(FRAME, labour_part=Decimal(0))) == 1
    assert share_of_parts(replace(FRAME, material_part=Decimal(0))) == 0
    # A repair that saves goods has no parts to tax.
    assert share_of_parts(replace(FRAME, material_part=Decimal(-5))) == 0


# Whatever the order ---------------------------------------------------------------------------------------

DECK = replace(
    FRAME, slug="deck", unit="ft2", exposure=Decimal(40), unit_price=Decimal("9.333333"), set_up=Decimal("35.00"),
    labour_part=Decimal("6.111111"), material_part=Decimal("3.222222"), assemblies=(),
)  # fmt: skip
WIRING = replace(FRAME, slug="wiring", exposure=Decimal(3), unit_price=Decimal("60.005000"), set_up=Decimal(0))
_NOTES = st.lists(
    st.tuples(
        st.sampled_from([FRAME, DECK, WIRING]),
        st.integers(1, 200_000).map(lambda n: Decimal(n).scaleb(-4)),
        st.booleans(),
    ),
    max_size=12,
)


@given(_NOTES, st.integers(0, 60_000).map(lambda n: Decimal(n).scaleb(-2)))
def test_draws_never_pass_the_pot_and_replay_to_the_same(
    notes: list[tuple[AgreedComponent, Decimal, bool]], contingency: Decimal
) -> None:
    pot, kept = Pot(contingency), list[Draw]()
    for component, extent, taken_back in notes:
        try:
            made = draw(pot, component, extent, USD)
        except (PotPassedError, MoreThanExposedError):
            continue
        pot = pot.after(made)
        kept.append(made)
        if taken_back:
            pot = pot.after(made.back())
            kept.append(made.back())
        assert 0 <= pot.left <= contingency
        assert 0 <= made.material <= made.work
        assert all(pot.of(one).extent <= one.exposure for one in (FRAME, DECK, WIRING))
    replayed = Pot(contingency)
    for made in kept:
        replayed = replayed.after(made)
    assert replayed == pot
    # Parts were taxed in the limit as the largest share of the pot.
    assert sum(made.material for made in kept) <= contingency


# Counted --------------------------------------------------------------------------------------------------

LABOUR = CountedLine(
    5, "labour", "backing-frame", "technician", "backing-frame", "labour", Decimal("1.0000"), "each", Decimal("80.000000")
)
STRIP = CountedLine(9, "material", "strip", "", "strip", "parts", Decimal("1.0000"), "each", Decimal("7.710000"))


def settled(done: str, *, noted: str = "0", components: tuple[AgreedComponent, ...] = (FRAME,)) -> list[Decimal]:
    credits = settle("backing-frame", (LABOUR, STRIP), Decimal(done), noted=Decimal(noted), components=components, currency=USD)
    return [credit.amount for credit in credits]


def test_a_frame_that_turned_out_sound_is_billed_less_and_its_set_up_stays() -> None:
    # 80.00 of labour and 7.71 of strip: 87.71.
    assert settled("0") == [Decimal("80.00"), Decimal("7.71")]
    # Half: 40.00 and 3.855, half up.
    assert settled("0.5") == [Decimal("40.00"), Decimal("3.86")]
    assert settled("1") == [Decimal("0.00"), Decimal("0.00")]


def test_what_goes_beyond_is_a_found_note_of_the_component_that_it_repairs() -> None:
    with pytest.raises(CountedBeyondError, match="found note that names 'backing-frame' as counted") as refused:
        settled("2")
    assert (refused.value.excess, refused.value.unit, refused.value.components) == (
        Decimal("1.0000"),
        "each",
        ("opening_frame",),
    )
    assert settled("2", noted="1") == [Decimal("0.00"), Decimal("0.00")]


def test_what_repairs_nothing_goes_beyond_by_a_change_order() -> None:
    with pytest.raises(CountedBeyondError, match="expected a change order") as refused:
        settled("2", components=())
    assert refused.value.components == ()
    assert repaired_by("backing-frame", [replace(FRAME, unit_price=Decimal(0))]) == ()


def test_less_is_not_settled_while_more_is_noted() -> None:
    with pytest.raises(CountedNotedError):
        settled("0", noted="1")


def test_only_counted_work_is_settled() -> None:
    with pytest.raises(NotCountedError):
        settle("bead", (), Decimal(1), noted=Decimal(0), components=(), currency=USD)
