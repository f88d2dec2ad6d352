"""The shipped severity rules say what the trade says, and rules at odds with themselves are refused."""

from collections.abc import Callable
from typing import Any

import pytest

from costbase.calc.errors import CalculationError, CalculationFaults
from quotes.calc.survey import SeverityRules
from tests.calc.surveys import contents, rules


def faults_of(change: Callable[[dict[str, Any]], object]) -> list[tuple[str, str]]:
    """Field and message of every fault of the shipped contents after a change."""
    changed = contents()
    change(changed)
    with pytest.raises(CalculationError) as caught:
        SeverityRules.from_contents(changed)
    several = caught.value.faults if isinstance(caught.value, CalculationFaults) else (caught.value,)
    return [(fault.field, fault.message) for fault in several]


def evidence(changed: dict[str, Any], code: str) -> dict[str, Any]:
    found: dict[str, Any] = next(kind for kind in changed["evidence"] if kind["code"] == code)
    return found


def test_the_shipped_rules_hold_the_trades_figures() -> None:
    shipped = rules()
    assert shipped.cell_weight == {"sound": 0.0, "damp": 0.25, "soft": 0.6, "rotten": 1.0}
    assert shipped.sound_leaves == {"walked": 0.7, "metered": 0.4, "opened": 0.0}
    assert [(entry.tier, entry.below) for entry in shipped.by_share] == [
        ("skin-deep", 0.02),
        ("local", 0.12),
        ("widespread", 1.01),
    ]
    assert shipped.survey_spread == {
        "told": 0.2, "photographs": 0.15, "walked": 0.08, "metered": 0.05, "opened": 0.02,
    }  # fmt: skip
    # 3/8, 1/2 and 1/4 in, 4 ft, once, once.
    assert {sign.evidence: sign.least.canonical for sign in shipped.frame_signs} == {
        "sag_at_ac": 95.25,
        "sag_elsewhere": 127.0,
        "cabinet_or_wall_gap": 63.5,
        "sidewall_bulge_at_top": 12192.0,
        "door_or_slide_binding": 1.0,
        "ceiling_propped": 1.0,
    }
    assert (shipped.frame_places, shipped.frame_weighted_share) == (2, 0.12)


def test_there_are_37_kinds_of_evidence_and_our_own_beside() -> None:
    own = {
        "delaminated_deck", "screws_through_vent_cover", "added_screws", "silicone_on_seam", "preexisting_defect",
    }  # fmt: skip
    codes = set(rules().evidence)
    assert own < codes
    assert len(codes - own) == 37
    lowers = {code for code, kind in rules().evidence.items() if kind.direction == "lowers"}
    assert lowers == {"opening_edge_bright", "sound_under_rail", "meter_dry", "condensation_at_ac"}


@pytest.mark.parametrize(
    ("code", "strongly"),
    [
        ("soft_underfoot", {"deck"}),
        ("sag_at_ac", {"ac_frame", "core"}),
        ("opening_edge_view", {"deck", "core", "ac_frame"}),
        ("pin_meter_ceiling_edge", {"edge", "ceiling"}),
        ("spinning_captive_nut", {"fasteners"}),
        ("cap_corner_crack", {"cap_backing"}),
        ("ceiling_propped", {"ac_frame", "core", "rafters"}),
        ("door_or_slide_binding", set()),
        ("age_and_storage", set()),
    ],
)
def test_evidence_speaks_strongly_about_its_components(code: str, strongly: set[str]) -> None:
    assert rules().evidence[code].speaks_strongly_about() == strongly


def test_labels_say_on_what_authority_a_figure_stands() -> None:
    assert rules().label == "common practice, none published; thresholds invented"
    assert rules().labels["cell_weight"] == "invented"
    assert rules().labels["survey_spread"] == "assumed"
    assert {kind.label for kind in rules().evidence.values()} == {"common practice, none published"}
    assert all("invented instrument" in one.label for one in rules().instruments.values())


def test_rules_written_back_are_the_same_rules() -> None:
    written = rules().contents()
    assert SeverityRules.from_contents(written) == rules()
    assert SeverityRules.from_contents(written).contents() == written


def test_every_fault_is_told_at_once() -> None:
    def change(changed: dict[str, Any]) -> None:
        del changed["label"]
        changed["colour"] = "red"
        changed["cell_weight"]["damp"] = "a quarter"
        changed["frame_signs"][0]["least"] = 3
        changed["evidence"][0]["direction"] = "up"

    assert [field for field, _ in faults_of(change)] == [
        "colour",
        "label",
        "cell_weight/damp",
        "frame_signs/0/least",
        "evidence/0/direction",
    ]


@pytest.mark.parametrize("table", ["cell_weight", "cell_action"])
def test_no_condition_may_be_missing(table: str) -> None:
    assert faults_of(lambda c: c[table].pop("soft")) == [(f"{table}/soft", "soft is missing")]


def test_a_worse_cell_never_weighs_less() -> None:
    ((field, message),) = faults_of(lambda c: c["cell_weight"].update(soft=0.2, damp=0.3))
    assert (field, message) == ("cell_weight/soft", "expected soft to be at least damp (0.3)")


def test_damp_weighs_at_least_the_highest_limit_of_the_share() -> None:
    ((field, message),) = faults_of(lambda c: c["cell_weight"].update(damp=0.1))
    assert field == "cell_weight/damp"
    assert "otherwise a further damp cell could lower the tier" in message
    ((field, _),) = faults_of(lambda c: c.update(frame_weighted_share=0.3))
    assert field == "cell_weight/damp"


def test_a_more_thorough_look_never_leaves_more() -> None:
    assert faults_of(lambda c: c["sound_leaves"].update(opened=0.5)) == [
        ("sound_leaves/opened", "expected opened to be at most metered (0.4)")
    ]
    assert [field for field, _ in faults_of(lambda c: c["survey_spread"].update(told=0.1))] == ["survey_spread/photographs"]


def test_sound_is_left_and_worse_is_never_treated_milder() -> None:
    assert [field for field, _ in faults_of(lambda c: c["cell_action"].update(sound="dry"))] == ["cell_action/sound"]
    assert [field for field, _ in faults_of(lambda c: c["cell_action"].update(rotten="dry"))] == ["cell_action/rotten"]


def test_tiers_by_share_rise_and_cover_every_share() -> None:
    assert [field for field, _ in faults_of(lambda c: c["by_share"].reverse())] == ["by_share"]
    assert [field for field, _ in faults_of(lambda c: c["by_share"][2].update(below=1.0))] == ["by_share/2/below"]
    assert [field for field, _ in faults_of(lambda c: c["by_share"][0].update(below=0.12))] == ["by_share/1/below"]


def test_a_floor_has_what_its_kind_needs_and_no_more() -> None:
    assert [field for field, _ in faults_of(lambda c: c["floors"][0].update(methods=["told"]))] == ["floors/0/methods"]
    assert [field for field, _ in faults_of(lambda c: c["floors"][0].pop("share"))] == ["floors/0/share"]
    assert [field for field, _ in faults_of(lambda c: c["floors"][1].update(components=["hull"]))] == ["floors/1/components"]
    assert [field for field, _ in faults_of(lambda c: c["floors"][3].update(conditions=["sound"]))] == ["floors/3/conditions"]


def test_evidence_speaks_about_known_subjects_and_feeds_what_fits() -> None:
    def change(changed: dict[str, Any]) -> None:
        evidence(changed, "soft_underfoot")["speaks_about"] = {"hull": "strong"}
        evidence(changed, "hollow_tap")["measure"] = "roof_length"
        evidence(changed, "cap_corner_crack")["measure"] = "mold_area"
        evidence(changed, "spinning_captive_nut")["extent_needed"] = False
        evidence(changed, "silicone_on_seam")["flag"] = "skin_off"
        evidence(changed, "meter_dry")["cells_become"] = "damp"
        evidence(changed, "musty_smell_or_mold")["without_extent"] = "1 each"

    found = faults_of(change)
    messages = {field.split("/", 2)[2]: message for field, message in found}
    assert len(found) == 8
    assert messages["speaks_about"].startswith("expected one of deck, ")
    assert "expected a measure of the survey that adds up" in [message for _, message in found]
    assert "expected an extent that is an area, as mold_area is" in [message for _, message in found]


def test_a_code_or_slug_stands_there_once() -> None:
    assert [field for field, _ in faults_of(lambda c: c["evidence"][1].update(code="soft_underfoot"))] == ["evidence/1/code"]
    assert [field for field, _ in faults_of(lambda c: c["instruments"][1].update(slug="probe-meter"))] == ["instruments/1/slug"]


def test_a_frame_sign_is_known_evidence_with_a_size_of_its_kind() -> None:
    assert [field for field, _ in faults_of(lambda c: c["frame_signs"][0].update(evidence="sag"))] == ["frame_signs/0/evidence"]
    assert [field for field, _ in faults_of(lambda c: c["frame_signs"][0].update(least="2 each"))] == ["frame_signs/0/least"]
    assert [field for field, _ in faults_of(lambda c: c["frame_signs"][0].update(evidence="meter_dry"))] == [
        "frame_signs/0/evidence"
    ]


def test_bands_rise_from_nothing_and_stay_wet() -> None:
    assert [field for field, _ in faults_of(lambda c: c["instruments"][0]["bands"].pop(0))] == ["instruments/0/bands"]
    assert [field for field, _ in faults_of(lambda c: c["instruments"][0]["bands"][2].update(least=12))] == [
        "instruments/0/bands/2/least"
    ]
    assert [field for field, _ in faults_of(lambda c: c["instruments"][0]["bands"][3].update(wet=False))] == [
        "instruments/0/bands/3/wet"
    ]


@pytest.mark.parametrize("nonsense", [None, [], "rules", 3, {"label": "x"}, {"label": []}])
def test_anything_else_is_refused_with_words(nonsense: object) -> None:
    with pytest.raises(CalculationError):
        SeverityRules.from_contents(nonsense)
