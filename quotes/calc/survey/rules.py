"""By which rules is a survey read and a roof graded?

The thresholds are common practice, none published, or invented; a shop may change each of them. Some changes
would break what an owner is promised, above all that finding more damage never makes a roof look better:
those are refused.
"""

from dataclasses import dataclass
from typing import cast

from costbase.calc.errors import CalculationFaults
from costbase.calc.fields import read_table, write_table
from quotes.calc.survey.rule_faults import rule_faults, twice
from quotes.calc.survey.rule_fields import RULE_FIELDS
from quotes.calc.survey.rule_parts import EvidenceKind, Floor, FrameSign, Instrument, ShareTier


@dataclass(frozen=True, slots=True)
class SeverityRules:
    """The rules of one edition; tables are keyed by slug.

    Attributes:
        label: on what authority they stand.
        labels: the same for single parts.
        components: slugs of the hidden components that have a tier.
        other_subjects: what evidence may speak about besides; it bears on scope and hours, not on hidden
            work.
        cell_weight: how much a cell of each condition weighs in the weighted share, 0 to 1.
        cell_action: what happens to its deck, one of `ACTIONS`.
        sound_leaves: share of the exposure that a sound cell leaves, by how it was looked at.
        dry_days_when_damp: drying that damp marks put in the base, canonical time.
        by_share: tiers by weighted share, mildest first.
        floors: reasons for a tier at least.
        frame_signs: signs of a damaged frame.
        frame_places: so many places with frame signs raise the whole roof.
        frame_weighted_share: from this weighted share on one frame sign raises the whole roof.
        survey_spread: standard deviation that each way of surveying adds to the forecast, on the log scale.
        evidence: kinds of findings.
        repair_conditions: condition of the work that an earlier repair of a kind suggests.
        capacitance_void_over: old skins over which a capacitance meter reads the skin and not the wood.
        instruments: meters with their bands.
    """

    label: str
    labels: dict[str, str]
    components: tuple[str, ...]
    other_subjects: tuple[str, ...]
    cell_weight: dict[str, float]
    cell_action: dict[str, str]
    sound_leaves: dict[str, float]
    dry_days_when_damp: float
    by_share: tuple[ShareTier, ...]
    floors: tuple[Floor, ...]
    frame_signs: tuple[FrameSign, ...]
    frame_places: int
    frame_weighted_share: float
    survey_spread: dict[str, float]
    evidence: dict[str, EvidenceKind]
    repair_conditions: dict[str, str]
    capacitance_void_over: tuple[str, ...]
    instruments: dict[str, Instrument]

    @classmethod
    def from_contents(cls, contents: object) -> "SeverityRules":
        """The rules of an edition.

        Args:
            contents: a JSON-like table; sizes are texts with a unit ("3/8 in", "1 each"), shares plain
                numbers.

        Raises:
            CalculationFaults: everything that is missing, unknown, not as expected, or at odds with another
            part, each with
                its path.
        """
        values = read_table(contents, RULE_FIELDS)
        evidence = cast(tuple[EvidenceKind, ...], values.pop("evidence"))
        instruments = cast(tuple[Instrument, ...], values.pop("instruments"))
        faults = [*twice([kind.code for kind in evidence], "evidence", "code")]
        faults += twice([instrument.slug for instrument in instruments], "instruments", "slug")
        rules = cls(
            **values,  # type: ignore[arg-type]  # read_table has read each field by its codec
            evidence={kind.code: kind for kind in evidence},
            instruments={instrument.slug: instrument for instrument in instruments},
        )
        faults += rule_faults(rules)
        if faults:
            raise CalculationFaults(faults)
        return rules

    def contents(self) -> dict[str, object]:
        """The contents in their normal form; `from_contents` makes the same rules of them."""
        lists = {
            "evidence": tuple(self.evidence.values()),
            "instruments": tuple(self.instruments.values()),
        }
        return write_table(lambda name: lists.get(name, getattr(self, name)), RULE_FIELDS)

    def weighs(self, condition: str) -> float:
        """Weight of a cell of that condition."""
        return self.cell_weight[condition]

    def replaces(self, condition: str) -> bool:
        """Whether the deck of such a cell is replaced."""
        return self.cell_action[condition] == "replace"

    def dries(self, condition: str) -> bool:
        """Whether the deck of such a cell is dried and stays."""
        return self.cell_action[condition] == "dry"
