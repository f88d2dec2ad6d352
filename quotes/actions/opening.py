"""How is it written down what was opened and what was found there?

Entries come from a tablet, one by one or many at once; all of one request are kept, or none. An entry is measured against the
roof and the survey that were quoted, never against a newer survey. Corrections stand in place of what they correct.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone

from costbase.calc.errors import CalculationError
from costbase.calc.money import decimal_quantity
from costbase.calc.units import BY_SYMBOL, Quantity, WrongDimensionError, in_unit
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.forecasts import forecast_after
from quotes.actions.found_notes import CorrectedBeforeError, UnknownOpeningError
from quotes.actions.priced import shop_day
from quotes.actions.sent_twice import NOTHING_SENT, SaidOtherwiseError, Sent
from quotes.calc.found import Exposed, Look, Measured, OpeningError, UnknownComponentError, measure, must_be_in_scope
from quotes.calc.job import must_be_in
from quotes.calc.ledger import check_day
from quotes.calc.survey import CellMark, RingMark, StripMark, Survey, check_survey
from quotes.models import Job, OpeningEntry
from quotes.reports.openings import OpeningBase, measured_in, opening_base, openings, places_of

Row = dict[str, Any]

OPENED_IN = ("opening_up", "waiting", "rebuilding")


@dataclass(frozen=True, slots=True)
class Said:
    """What an entry says of one component. Extents are quantities of any unit that measures as the component does."""

    component: str
    construction: str = ""
    opened: Quantity | None = None
    found: Quantity | None = None
    condition: str = ""
    note: str = ""
    photographs: list[Row] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Opening:
    """One entry: `marks` has the lists ``cells``, ``strips`` and ``rings`` of what was opened; `findings` lie out of scope.
    `corrects` is the id of an earlier entry that this one stands in place of.
    """

    day: date
    marks: Row
    said: list[Said] = field(default_factory=list)
    findings: list[Row] = field(default_factory=list)
    note: str = ""
    corrects: int | None = None
    sent: Sent = NOTHING_SENT


def add_opening(*, shop: Shop, job: Job, opening: Opening, by: Actor, now: datetime | None = None) -> OpeningEntry:
    """Adds one entry to a held job, as `add_openings` does."""
    (entry,) = add_openings(shop=shop, job=job, entries=[opening], by=by, now=now)
    return entry


def add_openings(
    *, shop: Shop, job: Job, entries: Sequence[Opening], by: Actor, now: datetime | None = None
) -> list[OpeningEntry]:
    """Adds entries to a held job, all or none, and forecasts it; one that came before is answered as it was made then.

    Returns:
        An entry for each, in their order; a constant number of queries however many.

    Raises:
        CalculationError: whatever is wrong with the first wrong entry, under ``entries/{n}`` where there are several.
    """
    assert_scope(shop.pk)
    known = _known(shop, job, entries)
    new = [entry for entry in entries if entry.sent.client_id not in known or entry.sent.client_id is None]
    made: dict[int, OpeningEntry] = {}
    if new:
        must_be_in(job.state, *OPENED_IN, doing="opened any further")
        moment = now or timezone.now()
        made = _added(shop, job, entries, new, by, moment)
        # One forecast for what came together: those in between would be of a moment that never was.
        forecast_after(shop=shop, job=job, by=by, now=moment, opening=made[id(new[-1])])
    return [made[id(entry)] if id(entry) in made else known[entry.sent.client_id] for entry in entries]


def _known(shop: Shop, job: Job, entries: Sequence[Opening]) -> dict[Any, OpeningEntry]:
    ids = [entry.sent.client_id for entry in entries if entry.sent.client_id is not None]
    rows = {row.client_id: row for row in OpeningEntry.objects.for_shop(shop).filter(client_id__in=ids)} if ids else {}
    seen: set[object] = set()
    for at, entry in enumerate(entries):
        client_id = entry.sent.client_id
        row = rows.get(client_id)
        if client_id is None:
            continue
        if client_id in seen or (row is not None and (row.job_id, row.digest) != (job.pk, entry.sent.digest)):
            words = f"something else was sent under {client_id}: expected an id of its own for another entry"
            raise _under(SaidOtherwiseError(words, field="client_id", value=str(client_id)), at, entries)
        seen.add(client_id)
    return dict(rows)


def _added(
    shop: Shop, job: Job, entries: Sequence[Opening], new: Sequence[Opening], by: Actor, now: datetime
) -> dict[int, OpeningEntry]:
    base = opening_base(shop, job)
    standing = {entry.pk: entry for entry in openings(shop, job.pk).order_by("pk")}
    corrected = {entry.corrects_id for entry in standing.values()}
    looks = {pk: measured_in(entry, base) for pk, entry in standing.items() if pk not in corrected}
    today = shop_day(shop).isoformat()
    fresh: list[Measured] = []
    rows: list[OpeningEntry] = []
    for at, entry in enumerate(entries):
        if not any(entry is one for one in new):
            continue
        try:
            check_day(entry.day.isoformat(), today=today, booked_on=None)
            if entry.corrects is not None:
                _take_back(entry.corrects, standing, looks)
            measured = _measured(entry, base, [*(one for of in looks.values() for one in of), *fresh])
        except CalculationError as fault:
            raise _under(fault, at, entries) from None
        fresh += measured
        rows.append(_row(shop, job, entry, measured, by, now))
    written = OpeningEntry.objects.for_shop(shop).bulk_create(rows)
    return {id(entry): row for entry, row in zip(new, written, strict=True)}


def _under(fault: CalculationError, at: int, entries: Sequence[Opening]) -> CalculationError:
    return fault.under(f"entries/{at}") if len(entries) > 1 else fault


def _take_back(pk: int, standing: dict[int, OpeningEntry], looks: dict[int, list[Measured]]) -> None:
    if pk not in standing:
        raise UnknownOpeningError("expected the id of an opening entry of this job", field="corrects", value=pk)
    if looks.pop(pk, None) is None:
        raise CorrectedBeforeError("another entry stands in its place: correct the later one", field="corrects", value=pk)


def _measured(entry: Opening, base: OpeningBase, standing: Sequence[Measured]) -> tuple[Measured, ...]:
    if not (entry.said or entry.findings or entry.corrects is not None):
        raise OpeningError("expected what was found of a component, or a finding", field="found")
    places = places_of(entry.marks)
    if places:
        check_survey(_as_marks(entry), base.roof, base.rules)
        must_be_in_scope(places, base.places)
    units = {one.slug: one.unit for one in base.components}
    looks = [_look(at, said, units, base.components) for at, said in enumerate(entry.said)]
    return measure(looks, places, base.components, base.carrying, standing, base.replaced)


def _as_marks(entry: Opening) -> Survey:
    """The places as marks of a survey, so that whether they are on the roof is asked in one way."""
    marks = entry.marks
    return Survey(
        method="opened",
        on=entry.day.isoformat(),
        cells=tuple(CellMark(one["section"], one["row"], one["lane"], "sound", "opened") for one in marks["cells"]),
        strips=tuple(StripMark(one["section"], one["side"], one["index"], "sound", "opened") for one in marks["strips"]),
        rings=tuple(RingMark(one["section"], one["opening"], "sound", "opened", "unknown") for one in marks["rings"]),
    )


def _look(at: int, said: Said, units: dict[str, str], components: Sequence[Exposed]) -> Look:
    if said.component not in units:
        known = ", ".join(one.slug for one in components) or "none"
        words = f"the job has no hidden component '{said.component}' but {known}: expected a finding with a recommendation"
        raise UnknownComponentError(words, field=f"found/{at}/component", value=said.component)
    unit = units[said.component]
    return Look(
        component=said.component,
        construction=said.construction,
        opened=_extent(said.opened, unit, f"found/{at}/opened"),
        found=_extent(said.found, unit, f"found/{at}/found"),
        condition=said.condition,
    )


def _extent(extent: Quantity | None, unit: str, field: str) -> Decimal | None:
    if extent is None:
        return None
    if extent.dimension != BY_SYMBOL[unit].dimension:
        raise WrongDimensionError(f"expected an extent in {unit}, not {extent.entered}", field=field, value=extent.entered)
    return decimal_quantity(in_unit(extent.canonical, unit))


def _row(shop: Shop, job: Job, entry: Opening, measured: Sequence[Measured], by: Actor, now: datetime) -> OpeningEntry:
    return OpeningEntry(
        shop=shop,
        job=job,
        client_id=entry.sent.client_id,
        digest=entry.sent.digest,
        day=entry.day,
        marks=entry.marks,
        measured=[
            {
                "component": one.component,
                "construction": one.construction,
                "unit": one.unit,
                "opened": f"{one.opened:.4f}",
                "found": f"{one.found:.4f}",
                "condition": one.condition,
                "note": said.note,
                "photographs": said.photographs,
            }
            for one, said in zip(measured, entry.said, strict=True)
        ],
        findings=entry.findings,
        note=entry.note,
        corrects_id=entry.corrects,
        created=now,
        created_by=by.person_id,
    )
