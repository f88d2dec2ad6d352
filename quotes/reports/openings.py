"""What was opened on a job and found so far, and against what are further entries measured?"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import F, QuerySet

from costbase.models import Shop
from quotes.calc.found import Exposed, Measured, OpenedShare, concerned, opened_shares, opened_totals
from quotes.calc.geometry import Roof, Scope, Span
from quotes.calc.severity import SeverityRules
from quotes.calc.survey import CONDITIONS, Carried, PlaceName, Survey, carried_exposure, place_sizes, places_in
from quotes.exchange.frozen import inputs_from_json
from quotes.models import Job, OpeningEntry, Quote
from quotes.reports.found import measured_alike
from quotes.reports.jobs import job_components
from quotes.snapshot import frozen_cost_base, severity_rules

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class OpeningBase:
    """What entries are measured against: the roof and survey as quoted, and the job's components."""

    roof: Roof
    scope: Scope
    survey: Survey
    rules: SeverityRules
    carrying: dict[str, dict[str, Carried]]
    places: frozenset[PlaceName]
    components: list[Exposed]
    replaced: frozenset[str]


def opening_base(shop: Shop, job: Job) -> OpeningBase:
    """What a job's opening entries are measured against, in two queries; the cost base is read once per process."""
    kept = Quote.objects.for_shop(shop).values("inputs", scope=F("told__scope")).get(pk=job.quote_id)
    base, inputs = frozen_cost_base(job), inputs_from_json(kept["inputs"])
    rules = severity_rules(base.severity)
    scope = _scope(kept["scope"])
    return OpeningBase(
        roof=inputs.roof,
        scope=scope,
        survey=inputs.survey,
        rules=rules,
        carrying=carried_exposure(inputs.survey, inputs.roof, scope, rules),
        places=places_in(inputs.roof, scope),
        components=[
            Exposed(
                slug=row["slug"],
                construction=row["construction"],
                unit=row["unit"],
                exposure=row["exposure"],
                sections=tuple(part["section"] for part in row["details"]["sections"]),
                scaled_by=_carried_by(base.components[row["slug"]].scaled_by, row["unit"]),
            )
            for row in job_components(shop, job.pk)
        ],
        replaced=frozenset(condition for condition in CONDITIONS if rules.replaces(condition)),
    )


def _carried_by(scaled_by: str, unit: str) -> str:
    """Which places carry a component: none where it is measured in something that they do not have."""
    measured_in = {"cells": "ft2", "kept_cells": "ft2", "edge_strips": "ft", "cap_strips": "ft"}.get(scaled_by, "each")
    return scaled_by if scaled_by and measured_alike(unit, measured_in) else ""


def openings(shop: Shop, job_id: int) -> "QuerySet[OpeningEntry, OpeningEntry]":
    """The opening entries of a job, corrected ones among them."""
    return OpeningEntry.objects.for_shop(shop).filter(job_id=job_id)


def standing_openings(shop: Shop, job_id: int) -> list[OpeningEntry]:
    """The entries that hold, in their order: those that no other corrects."""
    entries = list(openings(shop, job_id).order_by("pk"))
    corrected = {entry.corrects_id for entry in entries}
    return [entry for entry in entries if entry.pk not in corrected]


def measured_in(entry: OpeningEntry, base: OpeningBase) -> list[Measured]:
    """What an entry measured, with the places that each component was looked at in."""
    places = places_of(entry.marks)
    by_key = {(one.slug, one.construction): one for one in base.components}
    return [
        _measured(row, concerned(by_key[row["component"], row["construction"]], places, base.carrying))
        for row in entry.measured
    ]


def opened_extents(entries: Iterable[OpeningEntry]) -> dict[tuple[str, str], tuple[Decimal, Decimal]]:
    """Opened and found extent of each component over entries, in its unit, by slug and construction."""
    return opened_totals(_measured(row) for entry in entries for row in entry.measured)


def _measured(row: Row, places: tuple[PlaceName, ...] = ()) -> Measured:
    return Measured(
        component=row["component"],
        construction=row["construction"],
        unit=row["unit"],
        opened=Decimal(row["opened"]),
        found=Decimal(row["found"]),
        condition=row["condition"],
        places=places,
    )


def places_of(marks: Row) -> list[PlaceName]:
    """The places that an entry's marks name."""
    return [
        *(PlaceName(one["section"], "cell", f"{one['row']}{one['lane']}") for one in marks["cells"]),
        *(PlaceName(one["section"], "strip", f"{one['side']} {one['index']}") for one in marks["strips"]),
        *(PlaceName(one["section"], "ring", one["opening"]) for one in marks["rings"]),
    ]


def shares_opened(shop: Shop, job: Job) -> tuple[OpenedShare, ...]:
    """How much of the cells, strips and rings in scope the standing entries opened, in two queries; none where none was."""
    opened = [place for entry in standing_openings(shop, job.pk) for place in places_of(entry.marks)]
    kept = Quote.objects.for_shop(shop).values("inputs", scope=F("told__scope")).get(pk=job.quote_id)
    return opened_shares(opened, place_sizes(inputs_from_json(kept["inputs"]).roof, _scope(kept["scope"])))


def _scope(told: list[Row]) -> Scope:
    return tuple(Span(span["section"], span["start"], span["end"]) for span in told)


def survey_findings(shop: Shop, job: Job) -> tuple[list[Row], list[str]]:
    """What the survey found before the roof was open, and what the quote says that its price leaves out."""
    kept = Quote.objects.for_shop(shop).values("inputs", exclusions=F("told__exclusions")).get(pk=job.quote_id)
    findings = inputs_from_json(kept["inputs"]).survey.findings
    told = [{name: getattr(one, name) for name in ("kind", "section", "place", "note")} for one in findings]
    return told, list(kept["exclusions"])
