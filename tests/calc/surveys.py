"""Surveys of invented roofs for the tests of the core, and the severity rules that the network ships with."""

import tomllib
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from quotes.calc.geometry import Roof, Section, Span
from quotes.calc.survey import (
    CellMark,
    Finding,
    Reading,
    Repair,
    RingMark,
    SeverityRules,
    StripMark,
    Survey,
    SurveyReading,
    grid,
    read_survey,
)
from tests.calc.roofs import INCH

T = TypeVar("T")
RULES_FILE = Path(__file__).parents[2] / "fixtures" / "network" / "severity.toml"


@cache
def _contents() -> dict[str, Any]:
    shipped: dict[str, Any] = tomllib.loads(RULES_FILE.read_text(encoding="utf-8"))["severity"]["severity"]
    return shipped


def contents() -> dict[str, Any]:
    """A copy of the shipped contents, to be changed by a test."""
    return deepcopy(_contents())


@cache
def rules() -> SeverityRules:
    return SeverityRules.from_contents(_contents())


def cell(name: str, condition: str, method: str = "walked", *, section: str = "main") -> CellMark:
    """The mark of a cell by its name, such as "3D"."""
    return CellMark(section, int(name[:-1]), name[-1], condition, method)


def strip(side: str, index: int, condition: str, method: str = "walked", *, section: str = "main") -> StripMark:
    return StripMark(section, side, index, condition, method)


def ring(opening: str, condition: str, method: str = "walked", *, backing: str = "unknown", section: str = "main") -> RingMark:
    return RingMark(section, opening, condition, method, backing)


def finding(
    kind: str, place: str = "by the hatch", *, extent: float | None = None, section: str = "main", note: str = ""
) -> Finding:
    return Finding(kind, place, section, extent, note)


def inches_found(kind: str, inches: float, place: str = "by the hatch") -> Finding:
    return finding(kind, place, extent=inches * INCH)


def repair(
    kind: str,
    *,
    chemistry: str = "none",
    share: float | None = None,
    length: float | None = None,
    section: str = "main",
) -> Repair:
    return Repair(kind, section, chemistry, share, length)


def meter(percent: float, instrument: str = "probe-meter", *, over_foil: bool = False, section: str = "main") -> Reading:
    return Reading(instrument, section, "by the hatch", percent, over_foil)


def survey(*marks: object, method: str = "walked") -> Survey:
    """A survey of the given marks, findings, repairs and readings, whatever their order."""

    def of(kind: type[T]) -> tuple[T, ...]:
        return tuple(mark for mark in marks if isinstance(mark, kind))

    return Survey(
        method,
        "2026-03-02",
        cells=of(CellMark),
        strips=of(StripMark),
        rings=of(RingMark),
        findings=of(Finding),
        repairs=of(Repair),
        readings=of(Reading),
    )


def all_cells(section: Section, condition: str = "sound", method: str = "walked") -> tuple[CellMark, ...]:
    """Every cell of a section in one condition."""
    whole = Span(section.label, 0.0, section.length)
    return tuple(CellMark(section.label, found.row, found.lane, condition, method) for found in grid(section, whole))


def read(made: Survey, roof: Roof, *scope: Span) -> SurveyReading:
    """The survey read by the shipped rules, over the whole roof unless spans are given."""
    spans = scope or tuple(Span(section.label, 0.0, section.length) for section in roof.sections)
    return read_survey(made, roof, spans, rules())
