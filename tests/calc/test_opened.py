"""What entries of the opening record come to, worked by hand on a flat section of 20 ft by 8 ft: 40 cells of 4 sq ft."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.errors import CalculationError
from quotes.calc.found import (
    BeyondOpenedError,
    Exposed,
    Look,
    Measured,
    OpenedTwiceError,
    OpeningError,
    OutOfScopeError,
    UnknownComponentError,
    measure,
    must_be_in_scope,
    opened_totals,
)
from quotes.calc.geometry import Roof, Span, whole
from quotes.calc.survey import (
    LANES,
    CellMark,
    PlaceName,
    RingMark,
    SeverityRules,
    StripMark,
    Survey,
    carried_exposure,
    grid,
    places_in,
    read_survey,
)
from tests.calc.roofs import FOOT, air_conditioner, opening, section
from tests.calc.surveys import contents

RULES = SeverityRules.from_contents(contents())
FLAT = section(
    construction="framed", old_skin="tpo", deck="plywood_3_8in", length_in=240, width_in=96, crown_in=0, radius_in=0, tuck_in=0,
    core_in=0,
    openings=(opening("front vent", station_in=60), opening("rear vent", station_in=150), air_conditioner("unit", 200)),
)  # fmt: skip
ROOF = Roof((FLAT,), ())
REPLACED = frozenset({"soft", "rotten"})
DECK = Exposed("deck", "framed", "ft2", Decimal("160.0000"), ("main",), "kept_cells")
EDGE = Exposed("edge", "framed", "ft", Decimal("40.0000"), ("main",), "edge_strips")
CAPS = Exposed("cap_backing", "framed", "ft", Decimal("16.0000"), ("main",), "cap_strips")
FRAME = Exposed("opening_frame", "framed", "each", Decimal("2.0000"), ("main",), "rings")
WIRING = Exposed("wiring", "framed", "each", Decimal("4.0000"), ("main",), "")
COMPONENTS = (DECK, EDGE, CAPS, FRAME, WIRING)
SEEN = Survey(
    "walked",
    "2026-03-01",
    cells=(CellMark("main", 1, "A", "rotten", "opened"), CellMark("main", 5, "A", "sound", "walked")),
    strips=(StripMark("main", "driver", 1, "soft", "opened"), StripMark("main", "driver", 2, "sound", "walked")),
    rings=(RingMark("main", "front vent", "rotten", "opened", "present"),),
)
NOTHING_SEEN = Survey("walked", "2026-03-01")


def cell(at: str) -> PlaceName:
    return PlaceName("main", "cell", at)


def strip(at: str) -> PlaceName:
    return PlaceName("main", "strip", at)


def ring(at: str) -> PlaceName:
    return PlaceName("main", "ring", at)


def measured(
    looks: Sequence[Look], places: Sequence[PlaceName], survey: Survey = NOTHING_SEEN, standing: Sequence[Measured] = (),
    components: Sequence[Exposed] = COMPONENTS,
) -> list[tuple[Decimal, Decimal]]:  # fmt: skip
    carrying = carried_exposure(survey, ROOF, whole(ROOF), RULES)
    return [(one.opened, one.found) for one in measure(looks, places, components, carrying, standing, REPLACED)]


def test_places_are_measured_by_area_length_and_count() -> None:
    # A cell is 2 ft x 2 ft, a strip 2 ft; rings are one each. The air conditioner's ring is no vent's.
    looks = [Look("deck", condition="rotten"), Look("edge", condition="sound"), Look("opening_frame", found=Decimal(1))]
    places = [cell("3D"), cell("4D"), strip("driver 4"), ring("rear vent"), ring("unit")]

    assert measured(looks, places) == [
        (Decimal("8.0000"), Decimal("8.0000")),
        (Decimal("2.0000"), Decimal(0)),
        (Decimal("1.0000"), Decimal(1)),
    ]


def test_caps_and_edges_have_strips_of_their_own() -> None:
    # The cap joint of 96 in has four strips of 24 in.
    places = [strip("front 1"), strip("rear 4"), strip("passenger 10")]

    assert measured([Look("cap_backing", condition="soft"), Look("edge", condition="damp")], places) == [
        (Decimal("4.0000"), Decimal("4.0000")),
        (Decimal("2.0000"), Decimal(0)),
    ]


def test_what_went_to_the_visible_work_opens_nothing_and_what_was_seen_sound_a_part() -> None:
    # Rotten cell 1A takes rows 1 and 2 to the base. Sound when walked leaves 0.7: of cell 5A 2.8 sq ft, of strip 2 1.4 ft. The
    # soft strip and the rotten ring are visible work.
    looks = [Look("deck", condition="rotten"), Look("edge", condition="rotten"), Look("opening_frame", condition="sound")]
    places = [cell("1A"), cell("2C"), cell("5A"), cell("5B"), strip("driver 1"), strip("driver 2"), ring("rear vent")]

    assert measured(looks, places, SEEN) == [
        (Decimal("6.8000"), Decimal("6.8000")),
        (Decimal("1.4000"), Decimal("1.4000")),
        (Decimal("1.0000"), Decimal(0)),
    ]


def test_components_without_places_say_how_much_was_opened() -> None:
    assert measured([Look("wiring", opened=Decimal(3), found=Decimal(1))], []) == [(Decimal(3), Decimal(1))]
    with pytest.raises(OpeningError, match="how much of it was opened"):
        measured([Look("wiring", found=Decimal(1))], [])
    with pytest.raises(OpeningError, match="no extent of its own"):
        measured([Look("deck", opened=Decimal(4), found=Decimal(1))], [cell("3D")])
    with pytest.raises(OpeningError, match="expected cells"):
        measured([Look("deck", condition="sound")], [ring("rear vent")])


def test_no_more_is_found_than_opened_nor_opened_than_exposed() -> None:
    with pytest.raises(BeyondOpenedError, match=r"4\.5 ft2 found is more than the 4\.0000 ft2 opened"):
        measured([Look("deck", found=Decimal("4.5"))], [cell("3D")])
    with pytest.raises(BeyondOpenedError, match="still exposed"):
        measured([Look("wiring", opened=Decimal(5), found=Decimal(0))], [])
    # Where a share of the deck was entered as visible work, nobody knows which cells: what is left caps.
    small = replace(DECK, exposure=Decimal("6.0000"))
    assert measured([Look("deck", condition="soft")], [cell("3D"), cell("4D")], components=[small]) == [
        (Decimal("6.0000"), Decimal("6.0000"))
    ]


def test_a_place_is_opened_once_for_a_component() -> None:
    carrying = carried_exposure(NOTHING_SEEN, ROOF, whole(ROOF), RULES)
    first = measure([Look("deck", condition="sound")], [cell("3D")], COMPONENTS, carrying, (), REPLACED)
    with pytest.raises(OpenedTwiceError, match="cell 3D of 'main' was opened for deck before"):
        measured([Look("deck", condition="rotten")], [cell("4D"), cell("3D")], standing=first)
    core = replace(DECK, slug="core", scaled_by="cells")
    assert measured([Look("core", condition="rotten")], [cell("3D")], standing=first, components=[DECK, core]) == [
        (Decimal("4.0000"), Decimal("4.0000"))
    ]
    with pytest.raises(OpenedTwiceError):
        measured([Look("deck", condition="sound"), Look("deck", condition="sound")], [cell("4D")])


def test_a_component_is_named_with_its_construction_where_there_are_several() -> None:
    metal = replace(DECK, construction="metal", sections=())
    with pytest.raises(UnknownComponentError, match="framed or metal"):
        measured([Look("deck", condition="sound")], [cell("3D")], components=[DECK, metal])
    with pytest.raises(UnknownComponentError, match="expected a finding") as refused:
        measured([Look("edge", condition="sound"), Look("ceiling", found=Decimal(1))], [strip("driver 4")])
    assert refused.value.field == "found/1/component"


@pytest.mark.parametrize(
    "look", [Look("deck"), Look("deck", found=Decimal(1), condition="rotten"), Look("deck", condition="?")]
)
def test_either_an_extent_or_a_known_condition_is_said(look: Look) -> None:
    with pytest.raises(OpeningError):
        measured([look], [cell("3D")])


def test_places_outside_of_the_scope_are_findings() -> None:
    front = (Span("main", 0.0, 8.0 * FOOT),)
    inside = places_in(ROOF, front)
    must_be_in_scope([cell("4D"), strip("driver 4"), strip("front 2"), ring("front vent")], inside)
    for place in (cell("5A"), strip("passenger 5"), strip("rear 1"), ring("rear vent")):
        with pytest.raises(OutOfScopeError):
            must_be_in_scope([place], inside)


def test_totals_add_what_was_opened_and_found() -> None:
    looks = [
        Measured("deck", "framed", "ft2", Decimal("8.0000"), Decimal("4.5000"), "", ()),
        Measured("wiring", "framed", "each", Decimal(3), Decimal(1), "", ()),
        Measured("deck", "framed", "ft2", Decimal("4.0000"), Decimal(0), "sound", ()),
    ]
    assert opened_totals(looks) == {
        ("deck", "framed"): (Decimal("12.0000"), Decimal("4.5000")),
        ("wiring", "framed"): (Decimal(3), Decimal(1)),
    }


# Against the reading of the survey -----------------------------------------------------------------------

_CONDITION = st.sampled_from(["sound", "damp", "soft", "rotten"])
_METHOD = st.sampled_from(["walked", "metered", "opened"])
_CELLS = st.dictionaries(st.tuples(st.integers(1, 10), st.sampled_from(LANES)), st.tuples(_CONDITION, _METHOD), max_size=12)
_STRIPS = st.dictionaries(
    st.one_of(
        st.tuples(st.sampled_from(["driver", "passenger"]), st.integers(1, 10)),
        st.tuples(st.sampled_from(["front", "rear"]), st.integers(1, 4)),
    ),
    st.tuples(_CONDITION, _METHOD),
    max_size=8,
)
_RINGS = st.dictionaries(st.sampled_from(["front vent", "rear vent", "unit"]), st.tuples(_CONDITION, _METHOD), max_size=3)


@given(_CELLS, _STRIPS, _RINGS)
def test_all_places_together_carry_what_the_survey_leaves(
    cells: dict[tuple[int, str], tuple[str, str]],
    strips: dict[tuple[str, int], tuple[str, str]],
    rings: dict[str, tuple[str, str]],
) -> None:
    survey = Survey(
        "walked",
        "2026-03-01",
        cells=tuple(CellMark("main", row, lane, *seen) for (row, lane), seen in cells.items()),
        strips=tuple(StripMark("main", side, index, *seen) for (side, index), seen in strips.items()),
        rings=tuple(RingMark("main", label, *seen, "present") for label, seen in rings.items()),
    )
    reading = read_survey(survey, ROOF, whole(ROOF), RULES).sections["main"]
    carried = carried_exposure(survey, ROOF, whole(ROOF), RULES)["main"]
    # Exposures as the shipped components have them, times what the survey leaves of them.
    scale, values = reading.exposure_scale, reading.values
    deck = sum(one.area for one in grid(FLAT, whole(ROOF)[0]))
    kept = deck * (1.0 - float(values["deck_replaced_share"]))
    edges = 2.0 * 20.0 * FOOT - float(values["wall_top_rot_length"])
    caps = 2.0 * 8.0 * FOOT - float(values["cap_backing_rot_length"])
    assert sum(carried["cells"].values()) == pytest.approx(deck * scale["cells"])
    assert sum(carried["kept_cells"].values()) == pytest.approx(kept * scale["kept_cells"])
    assert sum(carried["edge_strips"].values()) == pytest.approx(edges * scale["edge_strips"])
    assert sum(carried["cap_strips"].values()) == pytest.approx(caps * scale["cap_strips"])
    assert sum(carried["rings"].values()) == pytest.approx((2.0 - float(values["backing_count"])) * scale["rings"])
    assert sum(carried["ac_rings"].values()) == pytest.approx((1.0 - float(values["brace_count"])) * scale["ac_rings"])
    names = places_in(ROOF, whole(ROOF))
    assert all(place in names for group in carried.values() for place in group)


@given(st.lists(st.sampled_from(sorted(places_in(ROOF, whole(ROOF)))), max_size=40), _CONDITION)
def test_however_a_roof_is_opened_no_more_comes_of_it_than_was_exposed(places: list[PlaceName], condition: str) -> None:
    carrying = carried_exposure(SEEN, ROOF, whole(ROOF), RULES)
    deck = replace(DECK, exposure=Decimal("126.8000"))  # 32 cells of 4 sq ft, one of them at 0.7
    standing: list[Measured] = []
    for place in places:
        for slug in ("deck", "edge", "cap_backing", "opening_frame"):
            try:
                standing += measure(
                    [Look(slug, condition=condition)], [place], (deck, *COMPONENTS[1:]), carrying, standing, REPLACED
                )
            except CalculationError:
                continue
    for (slug, _), (opened, found) in opened_totals(standing).items():
        exposure = deck.exposure if slug == "deck" else next(one.exposure for one in COMPONENTS if one.slug == slug)
        assert 0 <= found <= opened <= exposure
