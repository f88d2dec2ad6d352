"""How are reasons, warnings and damage noted while the marks of one section are walked?"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from quotes.calc.survey.marks import CellMark, RingMark, StripMark
from quotes.calc.survey.rules import SeverityRules

Mark = CellMark | StripMark | RingMark


@dataclass(frozen=True, slots=True)
class SurveyAction:
    """A reason why something is in the base.

    Attributes:
        text: what is done, such as ``deck replaced from 0 ft to 4 ft``.
        source: where it was found, such as ``main, cell 1A rotten (opened)``.
        section: label of the section.
        measure: slug of the measure that it feeds.
    """

    text: str
    source: str
    section: str
    measure: str


@dataclass(slots=True)
class Notes:
    """Collects actions and warnings of one section while its marks are walked."""

    section: str
    actions: list[SurveyAction] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    damage: list[tuple[str, str]] = field(default_factory=list)

    def act(self, text: str, sources: Iterable[str], measure: str) -> None:
        """Notes a reason for the base."""
        self.actions.append(SurveyAction(text, f"{self.section}, {', '.join(sources)}", self.section, measure))


@dataclass(frozen=True, slots=True)
class Part:
    """What one kind of marks comes to: measures for the base, and shares of exposures that are left."""

    values: dict[str, float | bool]
    scale: dict[str, float]


def left(marks: Iterable[Mark], rules: SeverityRules) -> float:
    """Share of the exposure that marks of one place leave: 1 unless it is sound; the most thorough way counts."""
    return min((rules.sound_leaves[mark.method] for mark in marks if mark.condition == "sound"), default=1.0)
