"""How does hidden work that was found draw the pot, and how is a note taken back?

A note goes to the owner, who signs nothing: what the pot holds was authorised with the limit. Whoever draws holds the job, so
that two notes which fit one by one and not together are one too many for the second.
"""

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Max
from django.utils import timezone

from costbase.calc.errors import CalculationError
from costbase.calc.money import currency, decimal_quantity
from costbase.calc.units import BY_SYMBOL, Quantity, WrongDimensionError, in_unit
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.jobs import save_job
from quotes.actions.sent_twice import NOTHING_SENT, Sent, made_before
from quotes.calc.found import AgreedComponent, Draw, NoAgreedPriceError, Pot, left_by_component
from quotes.calc.found import draw as worked
from quotes.calc.job import must_be_in
from quotes.models import ChangeOrder, FoundNote, Job, OpeningEntry
from quotes.reports.found import agreed_components, counted_lines, found_notes, measured_alike, pot_of, taken_back_by

Row = dict[str, Any]

DRAWN_IN = ("opening_up", "waiting", "rebuilding", "testing")
CORRECTED_IN = (*DRAWN_IN, "handed_over")


class CoveredError(CalculationError):
    """Work that a waiting change order covers."""

    code = "covered_work"


class CountedElsewhereError(CalculationError):
    """A found note names counted work that the job has not, or that does not put the component right."""

    code = "counted_elsewhere"


class CorrectedBeforeError(CalculationError):
    """A note or entry that was corrected, or is itself a correction."""

    code = "corrected_before"


class UnknownOpeningError(CalculationError):
    """An opening entry that the job has not."""

    code = "unknown_opening"


@dataclass(frozen=True, slots=True)
class Noting:
    """What a found note says. `construction` is needed where the component was agreed on several; `counted` names counted work
    whose quoted quantity was passed; `opening` is the id of the opening entry that it comes from.
    """

    component: str
    extent: Quantity
    construction: str = ""
    note: str = ""
    counted: str = ""
    photographs: list[Row] = field(default_factory=list)
    opening: int | None = None
    sent: Sent = NOTHING_SENT


def draw(*, shop: Shop, job: Job, noting: Noting, by: Actor, now: datetime | None = None) -> FoundNote:
    """Draws the pot of a held job, or answers with the note that was made of the same entry before.

    Raises:
        SaidOtherwiseError: something else was sent under its id.
        JobStateError, CoveredError: not in this state, or not while a change order for it waits.
        NoAgreedPriceError, WrongDimensionError, BadFoundExtentError, MoreThanExposedError, PotPassedError: it is no draw.
        CountedElsewhereError, UnknownOpeningError: it names something that is not there.
    """
    assert_scope(shop.pk)
    known = made_before(FoundNote.objects.for_shop(shop), job.pk, noting.sent)
    if known is not None:
        return known
    must_be_in(job.state, *DRAWN_IN, doing="drawn on")
    must_not_be_covered(shop, job.pk, noting.component, noting.counted)
    components = agreed_components(shop, job)
    component = _chosen(components, noting)
    _check_names(shop, job, noting, component)
    pot = pot_of(shop, job)
    made = worked(pot, component, _extent(noting.extent, component.unit), currency(job.currency))
    note = _row(shop, job, made, component, by, now or timezone.now())
    note.client_id, note.digest = noting.sent.client_id, noting.sent.digest
    note.opening_id = noting.opening
    note.photographs, note.note, note.counted = noting.photographs, noting.note, noting.counted
    return _kept(job, note, pot.after(made), components)


def correct(
    *, shop: Shop, job: Job, note: FoundNote, reason: str, by: Actor, sent: Sent = NOTHING_SENT, now: datetime | None = None
) -> FoundNote:
    """Takes a note of a held job back, with the set-up that came with it; what is right is a further note.

    Raises:
        SaidOtherwiseError: something else was sent under its id.
        JobStateError: not in this state.
        CorrectedBeforeError: it was corrected before, or is a correction.
    """
    assert_scope(shop.pk)
    known = made_before(FoundNote.objects.for_shop(shop), job.pk, sent)
    if known is not None:
        return known
    must_be_in(job.state, *CORRECTED_IN, doing="corrected in what it drew")
    if note.corrects_id is not None or found_notes(shop, job.pk).filter(corrects_id=note.pk).exists():
        words = f"note {note.number} was corrected before, or is a correction: expected one that stands"
        raise CorrectedBeforeError(words, value=note.number)
    components = agreed_components(shop, job)
    (component,) = [one for one in components if (one.slug, one.construction) == (note.component, note.construction)]
    back = Draw(note.component, note.construction, note.extent, note.work, note.set_up, note.material).back()
    row = _row(shop, job, back, component, by, now or timezone.now())
    row.client_id, row.digest = sent.client_id, sent.digest
    row.corrects_id, row.opening_id = note.pk, note.opening_id
    row.photographs, row.note, row.counted = [], reason, note.counted
    return _kept(job, row, pot_of(shop, job).after(back), components)


def must_stand(shop: Shop, note: FoundNote) -> None:
    """Refuses a note that was taken back.

    Raises:
        CorrectedBeforeError: it was.
    """
    back = taken_back_by(shop, note)
    if back is not None:
        words = f"note {note.number} was taken back by number {back}: expected that one, or one that stands"
        raise CorrectedBeforeError(words, value=note.number)


def must_not_be_covered(shop: Shop, job_id: int, *slugs: str) -> None:
    """Refuses work on components or assemblies that a waiting change order covers.

    Raises:
        CoveredError: one does.
    """
    named = [slug for slug in slugs if slug]
    orders = ChangeOrder.objects.for_shop(shop).filter(job_id=job_id, state="waiting", covers__overlap=named)
    order = orders.order_by("number").values("number", "covers").first()
    if order is not None:
        covered = next(slug for slug in named if slug in order["covers"])
        words = f"change order {order['number']} covers {covered} and waits for consent: expected its outcome first"
        raise CoveredError(words, field="component", value=covered)


def _chosen(components: list[AgreedComponent], noting: Noting) -> AgreedComponent:
    named = [one for one in components if one.slug == noting.component]
    if not named:
        words = f"the job has no agreed price for '{noting.component}': expected a change order"
        raise NoAgreedPriceError(words, field="component", value=noting.component)
    fitting = [one for one in named if noting.construction in ("", one.construction)]
    if len(fitting) != 1:
        words = f"expected the construction of {noting.component}: {' or '.join(one.construction for one in named)}"
        raise NoAgreedPriceError(words, field="construction", value=noting.construction)
    return fitting[0]


def _check_names(shop: Shop, job: Job, noting: Noting, component: AgreedComponent) -> None:
    if noting.counted:
        lines = counted_lines(shop, job).get(noting.counted, [])
        alike = bool(lines) and measured_alike(lines[0].unit, component.unit)
        if not alike or noting.counted not in component.assemblies:
            words = f"'{noting.counted}' is no counted work of this job that puts {component.slug} right and is measured alike"
            raise CountedElsewhereError(f"{words}: expected a change order", field="counted", value=noting.counted)
    if noting.opening is not None:
        entries = OpeningEntry.objects.for_shop(shop).filter(job_id=job.pk, pk=noting.opening)
        if not entries.exists():
            raise UnknownOpeningError("expected the id of an opening entry of this job", field="opening", value=noting.opening)


def _extent(extent: Quantity, unit: str) -> Decimal:
    if extent.dimension != BY_SYMBOL[unit].dimension:
        raise WrongDimensionError(f"expected an extent in {unit}, not {extent.entered}", field="extent", value=extent.entered)
    return decimal_quantity(in_unit(extent.canonical, unit))


def _row(shop: Shop, job: Job, made: Draw, component: AgreedComponent, by: Actor, now: datetime) -> FoundNote:
    last: int | None = found_notes(shop, job.pk).aggregate(last=Max("number"))["last"]
    return FoundNote(
        shop=shop,
        job=job,
        number=(last or 0) + 1,
        component=made.slug,
        construction=made.construction,
        extent=made.extent,
        unit=component.unit,
        unit_price=component.unit_price,
        work=made.work,
        set_up=made.set_up,
        amount=made.amount,
        material=made.material,
        created=now,
        created_by=by.person_id,
    )


def _kept(job: Job, note: FoundNote, pot: Pot, components: list[AgreedComponent]) -> FoundNote:
    note.left = pot.left
    note.left_by_component = [
        {"component": slug, "construction": construction, "left": str(left)}
        for slug, construction, left in left_by_component(pot, components)
    ]
    note.save(force_insert=True)
    job.drawn = pot.taken
    save_job(job, ["drawn"])
    return note
