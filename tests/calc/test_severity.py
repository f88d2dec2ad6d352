"""How bad a roof is, by worked cases, and that more damage never makes it look better."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.geometry import Roof
from quotes.calc.severity import TIERS, Severity, SeverityError, grade, override
from quotes.calc.survey import CellMark, Finding, RingMark, StripMark, Survey
from tests.calc.roofs import INCH, laminated_34_ft, roof, section, span
from tests.calc.surveys import all_cells, cell, finding, inches_found, read, ring, rules, strip, survey

COACH = laminated_34_ft()
MAIN = COACH.sections[0]
COMPONENTS = rules().components


def graded(*marks: object, method: str = "walked", coach: Roof = COACH) -> Severity:
    made = survey(*marks, method=method)
    return grade(made, read(made, coach), rules())


def sound_except(*marks: CellMark) -> tuple[CellMark, ...]:
    """Every cell sound except those marked otherwise."""
    other = {(mark.row, mark.lane) for mark in marks}
    return (*(mark for mark in all_cells(MAIN) if (mark.row, mark.lane) not in other), *marks)


def reasons(severity: Severity) -> list[tuple[str, str]]:
    return [(rule.tier, rule.reason) for rule in severity.fired]


def test_a_roof_found_sound_all_over_is_skin_deep() -> None:
    severity = graded(*all_cells(MAIN))
    assert severity.tier == "skin-deep"
    assert set(severity.components.values()) == {"skin-deep"}
    assert tuple(severity.components) == COMPONENTS
    assert reasons(severity) == [("skin-deep", "weighted share of damage 0.000, below 0.02; 100 % of the roof was checked")]


# 68 cells of one size. 2 % is 1.36, 12 % is 8.16 weighted cells.
@pytest.mark.parametrize(
    ("rotten", "damp", "tier"),
    [
        (1, 1, "skin-deep"),  # 1.25
        (1, 2, "local"),  # 1.5
        (8, 0, "local"),  # 8
        (8, 1, "widespread"),  # 8.25
        (20, 0, "widespread"),
    ],
)
def test_the_weighted_share_gives_the_tier(rotten: int, damp: int, tier: str) -> None:
    names = [f"{row}{lane}" for row in range(1, 18) for lane in "ABCD"]
    marks = [cell(name, "rotten") for name in names[:rotten]]
    marks += [cell(name, "damp") for name in names[rotten : rotten + damp]]
    assert graded(*sound_except(*marks)).tier == tier


def test_a_share_that_is_exactly_on_a_limit_is_not_below_it() -> None:
    # 25 rows of 4 cells: 12 rotten of 100 is 0.12 exactly.
    coach = roof(section(length_in=600.0))
    marks = [replace(mark, condition="rotten") for mark in all_cells(coach.sections[0])[:12]]
    rest = all_cells(coach.sections[0])[12:]
    assert graded(*marks, *rest, coach=coach).tier == "widespread"


def test_a_roof_hardly_looked_at_is_local_at_least() -> None:
    # 40 of 68 cells are 58.8 %, 41 are 60.3 %.
    severity = graded(*all_cells(MAIN)[:40])
    assert severity.tier == "local"
    assert ("local", "less than 60 % of the roof was checked and found sound: 59 %") in reasons(severity)
    assert graded(*all_cells(MAIN)[:41]).tier == "skin-deep"


def test_marking_damage_does_not_lift_the_floor_for_a_roof_hardly_looked_at() -> None:
    # One damp cell more makes 41 checked, still 40 sound: .25 / 41 = .006 alone would be skin-deep.
    severity = graded(*all_cells(MAIN)[:40], cell("17D", "damp"))
    assert severity.tier == "local"


@pytest.mark.parametrize("method", ["told", "photographs"])
def test_a_roof_nobody_stood_on_is_local_at_least(method: str) -> None:
    severity = graded(method=method)
    assert severity.tier == "local"
    assert f"the roof was told about or photographed, not looked at: survey by {method}" in [
        reason for _, reason in reasons(severity)
    ]


@pytest.mark.parametrize(
    ("made", "tier"),
    [
        (finding("soft_underfoot", "cell 3A"), "local"),  # strong for deck
        (finding("borescope"), "local"),  # strong_local for core
        (inches_found("sidewall_bulge_at_top", 24.0), "local"),  # strong for edge, below 4 ft
        (finding("hollow_tap"), "skin-deep"),  # moderate for deck
        (finding("spinning_captive_nut", extent=3.0), "skin-deep"),  # strong for fasteners alone
        (finding("opening_edge_bright"), "skin-deep"),  # speaks strongly, but lowers
        (finding("sound_under_rail"), "skin-deep"),
    ],
)
def test_a_strong_sign_of_deck_core_or_edge_makes_a_roof_local_at_least(made: Finding, tier: str) -> None:
    assert graded(*all_cells(MAIN), made).tier == tier


def test_a_soft_edge_or_rim_makes_a_roof_local_at_least() -> None:
    severity = graded(*all_cells(MAIN), strip("driver", 4, "soft"))
    assert severity.tier == "local"
    assert ("local", "an edge, a cap or the rim of an opening is soft or rotten: main, strip driver 4 soft (walked)") in (
        reasons(severity)
    )
    assert graded(*all_cells(MAIN), ring("vent 1", "rotten")).tier == "local"
    assert graded(*all_cells(MAIN), ring("vent 1", "damp")).tier == "skin-deep"


def test_one_frame_sign_raises_only_what_it_speaks_about_strongly() -> None:
    severity = graded(*all_cells(MAIN), inches_found("sag_at_ac", 0.375, "ring front unit"))
    # Core is among what it speaks about, so the roof is local; frame and core of the unit alone are worse.
    assert severity.tier == "local"
    raised = {component for component, tier in severity.components.items() if tier == "frame"}
    assert raised == {"ac_frame", "core"}
    assert severity.components["deck"] == "local"
    assert severity.fired[0].tier == "frame"
    assert severity.fired[0].components == ("core", "ac_frame")
    assert severity.fired[0].reason == "sign of a damaged frame: sag at ac at ring front unit (main)"


def test_a_sag_below_its_limit_is_no_frame_sign() -> None:
    severity = graded(*all_cells(MAIN), inches_found("sag_at_ac", 0.37, "ring front unit"))
    assert "frame" not in severity.components.values()


def test_two_frame_signs_in_different_places_raise_the_roof() -> None:
    severity = graded(
        *all_cells(MAIN),
        inches_found("sag_at_ac", 0.5, "ring front unit"),
        finding("ceiling_propped", "ring rear unit"),
    )
    assert severity.tier == "frame"
    assert set(severity.components.values()) == {"frame"}
    # Both signs, the roof's rule, the floor for strong signs, and the share are all listed, worst first.
    assert [rule.tier for rule in severity.fired] == ["frame", "frame", "frame", "local", "skin-deep"]


def test_two_frame_signs_in_one_place_are_one_sign() -> None:
    severity = graded(
        *all_cells(MAIN),
        inches_found("sag_at_ac", 0.5, "over the  Dinette"),
        finding("ceiling_propped", "Over the dinette"),
    )
    assert severity.tier == "local"
    assert severity.components["rafters"] == "frame"


def test_the_same_words_on_another_section_are_another_place() -> None:
    coach = roof(section("main", length_in=240.0), section("raised", kind="raised", length_in=144.0))
    made = survey(
        *all_cells(coach.sections[0]), *all_cells(coach.sections[1]),
        finding("ceiling_propped", "middle"), finding("ceiling_propped", "middle", section="raised"),
    )  # fmt: skip
    assert grade(made, read(made, coach), rules()).tier == "frame"


def test_one_frame_sign_and_much_damage_raise_the_roof() -> None:
    damage = sound_except(*(cell(f"{row}A", "rotten") for row in range(1, 10)))
    assert graded(*damage).tier == "widespread"
    # 9 / 68 = .132.
    severity = graded(*damage, finding("door_or_slide_binding", "entry door"))
    assert severity.tier == "frame"
    assert ("frame", "a sign of a damaged frame and a weighted share of 0.132, at or above 0.12") in reasons(severity)


def test_a_frame_sign_that_speaks_strongly_about_nothing_raises_nothing_alone() -> None:
    severity = graded(*all_cells(MAIN), finding("door_or_slide_binding", "entry door"))
    assert set(severity.components.values()) == {"skin-deep"}


def test_what_lies_outside_of_the_scope_is_not_graded() -> None:
    made = survey(*all_cells(MAIN), inches_found("sag_at_ac", 0.5, "ring rear unit"))
    severity = grade(made, read(made, COACH, span(end_in=200.0)), rules())
    assert severity.tier == "skin-deep"


# Overrides --------------------------------------------------------------------------------------------


def test_an_override_keeps_both_tiers_and_the_reason() -> None:
    severity = override(graded(*all_cells(MAIN)), "widespread", "  the owner showed photographs of the core ")
    assert (severity.tier, severity.worked_tier) == ("widespread", "skin-deep")
    assert severity.override_reason == "the owner showed photographs of the core"
    assert set(severity.components.values()) == {"widespread"}
    again = override(severity, "local", "looked again with a borescope")
    assert (again.tier, again.worked_tier) == ("local", "skin-deep")


def test_a_milder_override_does_not_explain_a_frame_sign_away() -> None:
    signs = (inches_found("sag_at_ac", 0.5, "ring front unit"), finding("ceiling_propped", "ring rear unit"))
    severity = override(graded(*all_cells(MAIN), *signs), "local", "both units stand on new frames")
    assert severity.tier == "local"
    assert {component for component, tier in severity.components.items() if tier == "frame"} == {
        "ac_frame", "core", "rafters",
    }  # fmt: skip


@pytest.mark.parametrize(("tier", "reason", "field"), [("mild", "for good reasons", "tier"), ("local", " because ", "reason")])
def test_an_override_names_a_tier_and_a_reason(tier: str, reason: str, field: str) -> None:
    with pytest.raises(SeverityError) as caught:
        override(graded(*all_cells(MAIN)), tier, reason)
    assert caught.value.field == field


# More damage never looks better -----------------------------------------------------------------------

SMALL = roof(
    section(
        length_in=200.0,
        openings=tuple(replace(o, station=o.station / 2.2) for o in MAIN.openings[:3]),
        captive_nuts=1000,
        wiring_runs=200,
    )
)
_CELLS = st.tuples(st.integers(1, 9), st.sampled_from("ABCD"))
_METHODS = st.sampled_from(["walked", "metered", "opened"])
_DAMAGE = st.sampled_from(["damp", "soft", "rotten"])
_PLACES = st.sampled_from(["ring front unit", "cell 1A", "strip driver 2", "entry door", "aft"])
_KINDS = st.sampled_from([kind for kind in rules().evidence.values() if kind.direction == "raises"])


@st.composite
def damage_findings(draw: st.DrawFn) -> Finding:
    kind = draw(_KINDS)
    place = f"cell {draw(st.integers(1, 9))}{draw(st.sampled_from('ABCD'))}" if kind.needs_cells else draw(_PLACES)
    extents = {
        "none": st.none(),
        "length": st.floats(0.01, 100.0).map(lambda inches: inches * INCH),
        "area": st.floats(1.0, 1e7),
        "count": st.integers(1, 20).map(float),
    }
    extent = draw(extents[kind.extent])
    if not kind.extent_needed and draw(st.booleans()):
        extent = None
    return Finding(kind.code, place, "main", extent, "")


@st.composite
def surveys(draw: st.DrawFn) -> Survey:
    """Many sound cells, some damage, a few findings: roofs near the limits between tiers."""
    places = [(row, lane) for row in range(1, 10) for lane in "ABCD"]
    # 19 cells are 456 of 800 lane inches, just short of the 60 % that lift a floor.
    sound = draw(st.one_of(st.just(19), st.integers(0, 36)))
    marks = {place: ("sound", draw(_METHODS)) for place in places[:sound]}
    marks |= draw(st.one_of(st.just({}), st.dictionaries(_CELLS, st.tuples(_DAMAGE, _METHODS), max_size=5)))
    strips = draw(st.one_of(st.just({}), st.dictionaries(st.integers(1, 9), _DAMAGE, max_size=2)))
    return survey(
        *(CellMark("main", row, lane, *how) for (row, lane), how in marks.items()),
        *(StripMark("main", "driver", index, condition, "walked") for index, condition in strips.items()),
        *draw(st.one_of(st.just([]), st.lists(damage_findings(), max_size=2))),
    )


def _further(draw: st.DrawFn, made: Survey) -> Survey:
    """The same survey with one more damage finding of any kind."""
    kind = draw(st.sampled_from(["cell", "worse cell", "strip", "ring", "finding"]))
    if kind == "finding":
        return replace(made, findings=(*made.findings, draw(damage_findings())))
    if kind == "ring":
        mark = RingMark("main", "front unit", draw(_DAMAGE), "opened", draw(st.sampled_from(["missing", "unknown"])))
        return replace(made, rings=(*made.rings, mark))
    if kind == "strip":
        return replace(made, strips=(*made.strips, StripMark("main", "passenger", 3, draw(_DAMAGE), "opened")))
    row, lane = draw(_CELLS)
    before = [mark for mark in made.cells if (mark.row, mark.lane) == (row, lane)]
    others = tuple(mark for mark in made.cells if mark not in before)
    order = ["sound", "damp", "soft", "rotten"]
    condition = draw(_DAMAGE)
    if before and order.index(condition) < order.index(before[0].condition):
        condition = before[0].condition
    return replace(made, cells=(*others, CellMark("main", row, lane, condition, draw(_METHODS))))


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Survey, Survey]:
    made = draw(surveys())
    return made, _further(draw, made)


@given(pairs())
@settings(max_examples=150, deadline=None)
def test_a_further_damage_finding_never_lowers_a_tier(both: tuple[Survey, Survey]) -> None:
    before, after = (grade(made, read(made, SMALL), rules()) for made in both)
    assert TIERS.index(after.tier) >= TIERS.index(before.tier)
    for component in COMPONENTS:
        assert TIERS.index(after.components[component]) >= TIERS.index(before.components[component])


@pytest.mark.parametrize("worse", ["damp", "soft", "rotten"])
def test_a_damaged_cell_more_never_lowers_the_tier_however_many_were_sound(worse: str) -> None:
    places = [f"{row}{lane}" for row in range(1, 10) for lane in "ABCD"]
    for sound in range(36):
        for bad in range(0, min(6, 36 - sound)):
            marks = [cell(name, "sound") for name in places[:sound]]
            marks += [cell(name, "rotten") for name in places[sound : sound + bad]]
            before = graded(*marks, coach=SMALL)
            after = graded(*marks, cell(places[sound + bad], worse), coach=SMALL)
            assert TIERS.index(after.tier) >= TIERS.index(before.tier), (sound, bad)


@given(surveys())
@settings(max_examples=80, deadline=None)
def test_no_component_is_better_than_its_roof_and_some_rule_says_why(made: Survey) -> None:
    severity = grade(made, read(made, SMALL), rules())
    assert all(TIERS.index(tier) >= TIERS.index(severity.tier) for tier in severity.components.values())
    assert severity.tier in [rule.tier for rule in severity.fired if not rule.components]
    assert [TIERS.index(rule.tier) for rule in severity.fired] == sorted(
        (TIERS.index(rule.tier) for rule in severity.fired), reverse=True
    )
