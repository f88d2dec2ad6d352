"""How is a trial of drafts shown? For managers only: amounts with their cost, line by line."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from api.rest.errors import Fault, pointer, problem_of
from api.rest.marks import field_in_body
from api.rest.quote_answers import fixed
from api.rest.quote_requests import ROOF_PARTS, SURVEY_PARTS, member_of
from costbase.actions.drafts import LaidDraft
from costbase.calc.cost_base import EditionRef
from costbase.calc.errors import CalculationError
from costbase.calc.money import currency
from costbase.models import Shop
from quotes.actions.priced import ENGINE
from quotes.actions.trials import Trial, Tried, changed
from quotes.calc.compared import Change, Compared, Figures, HiddenFigures, HiddenKey, LineFigures, LineKey
from quotes.models import Quote

Row = dict[str, Any]


def trial_answer(shop: Shop, trial: Trial, *, samples_from: int) -> Row:
    """The whole answer; coaches from place `samples_from` on are the samples of the request."""
    digits = currency(shop.currency).digits
    coaches, samples = trial.coaches[:samples_from], trial.coaches[samples_from:]
    return {
        "on": trial.day.isoformat(),
        "currency": shop.currency,
        "engine": ENGINE,
        "editions": [_draft(laid) for laid in trial.overlay.drafts],
        "doubts": [{"pointer": _pointer("editions", d.field), "detail": d.message} for d in trial.overlay.doubts],
        "summary": summary([*trial.quotes, *trial.coaches], digits, samples_from),
        "quotes": [{**_quote(one), **tried_answer(one, digits)} for one in trial.quotes],
        "coaches": [{"place": at, **tried_answer(one, digits, ("coaches", at))} for at, one in enumerate(coaches)],
        "samples": [{"place": at, **tried_answer(one, digits, ("samples", at))} for at, one in enumerate(samples)],
    }


def summary(tried: Sequence[Tried], digits: int, samples_from: int) -> Row:
    """How many change and by how much; sums are over those that could be worked out on both sides."""
    moved = changed(tried)
    both = [one for one in tried if one.change is not None]
    return {
        "tried": len(tried),
        "worked_out": len(both),
        "refused": sum(1 for one in tried if one.with_drafts.refusal is not None),
        "changed": len(moved),
        "base": _sum(both, "base", digits, samples_from),
        "limit": _sum(both, "limit", digits, samples_from),
        "changed_quotes": [one.quote.pk for one in moved if one.quote is not None],
        "changed_coaches": [p for p in _places(moved) if p < samples_from],
        "changed_samples": [p - samples_from for p in _places(moved) if p >= samples_from],
    }


def _places(tried: Iterable[Tried]) -> Iterator[int]:
    yield from (one.place for one in tried if one.place is not None)


def _sum(both: Sequence[Tried], name: str, digits: int, samples_from: int) -> Row:
    pairs = [(_amount(one.without.figures, name), _amount(one.with_drafts.figures, name), one) for one in both]
    before, after = sum((b for b, _, _ in pairs), Decimal(0)), sum((a for _, a, _ in pairs), Decimal(0))
    largest = max(pairs, key=lambda pair: abs(pair[1] - pair[0]), default=None)
    told = None
    if largest is not None and largest[0] != largest[1]:
        told = {"difference": fixed(largest[1] - largest[0], digits), **_which(largest[2], samples_from)}
    return {
        "without": fixed(before, digits),
        "with": fixed(after, digits),
        "difference": fixed(after - before, digits),
        "largest": told,
    }


def _which(one: Tried, samples_from: int) -> Row:
    place = one.place
    return {
        "quote": one.quote.pk if one.quote else None,
        "coach": place if place is not None and place < samples_from else None,
        "sample": place - samples_from if place is not None and place >= samples_from else None,
    }


def _amount(figures: Figures | None, name: str) -> Decimal:
    return Decimal(0) if figures is None else figures.amounts[name]


def _draft(laid: LaidDraft) -> Row:
    draft = laid.draft
    edition = {"kind": draft.kind, "slug": draft.slug, "way": draft.way, "same": laid.same}
    return {**edition, "in_force": _ref(laid.replaced), "then": None if draft.way == "contents" else _ref(laid.put)}


def _ref(ref: EditionRef | None) -> Row | None:
    return None if ref is None else {"owner": ref.owner, "valid_from": ref.valid_from}


def _quote(one: Tried) -> Row:
    quote = one.quote
    if not isinstance(quote, Quote):
        return {}
    return {
        "quote": quote.pk,
        "number": quote.number,
        "revision": quote.revision,
        "state": quote.state,
        "reference": quote.reference,
        "coach": quote.coach_id,
        "priced_on": quote.priced_on.isoformat(),
        "issued_at": quote.issued_at.isoformat() if quote.issued_at else None,
        "engine": quote.engine,
    }


def tried_answer(one: Tried, digits: int, place: tuple[str, int] | None = None) -> Row:
    """One coach or quote, without and with the drafts."""
    without, with_drafts = one.without, one.with_drafts
    sides = (one.stored, without.figures, with_drafts.figures)
    return {
        "changed": bool(changed([one])),
        "refusal": {
            "without": refusal(without.refusal, place),
            "with": refusal(with_drafts.refusal, place),
        },
        "amounts": _table([side.amounts if side else None for side in sides], digits),
        "hours": _cells([side.hours if side else None for side in sides], 4),
        "days": _table([side.days if side else None for side in sides], None),
        "tier": dict(zip(_SIDES, [side.tier if side else None for side in sides], strict=True)),
        "change": compared(one.change, digits),
        "drift": compared(one.drift, digits),
    }


_SIDES = ("stored", "without", "with")


def _table(sides: Sequence[Mapping[str, Any] | None], digits: int | None) -> Row:
    names: Mapping[str, Any] = next((side for side in reversed(sides) if side is not None), {})
    return {name: _cells([side[name] if side else None for side in sides], digits) for name in names}


def _cells(values: Sequence[Any], digits: int | None) -> Row:
    """A figure as it was stored, without and with the drafts; amounts as texts with so many digits, days as numbers."""

    def text(value: Any) -> Any:
        return value if value is None or digits is None else fixed(value, digits)

    _, without, with_drafts = values
    difference = None if without is None or with_drafts is None else text(with_drafts - without)
    return {**dict(zip(_SIDES, map(text, values), strict=True)), "difference": difference}


def compared(difference: Compared | None, digits: int) -> Row | None:
    """What differs between two workings; null where one of them is not there."""
    if difference is None:
        return None
    return {
        "nothing": difference.nothing,
        "amounts": {name: _amounts(change, digits) for name, change in difference.amounts.items()},
        "lines": [_line(key, change, digits) for key, change in difference.lines.items()],
        "hidden": [_component(key, change, digits) for key, change in difference.hidden.items()],
        **{name: _words(difference, name) for name in ("warnings", "exclusions", "cautions")},
    }


def _amounts(change: Change[Decimal], digits: int) -> Row:
    before, after = change.before or Decimal(0), change.after or Decimal(0)
    return {"before": fixed(before, digits), "after": fixed(after, digits), "difference": fixed(after - before, digits)}


def _words(difference: Compared, name: str) -> Row:
    words = difference.words.get(name)
    return {"gone": list(words.gone) if words else [], "come": list(words.come) if words else []}


def _line(key: LineKey, change: Change[LineFigures], digits: int) -> Row:
    line = change.after or change.before
    amount_before, amount_after = (side.amount if side else Decimal(0) for side in (change.before, change.after))
    return {
        **key._asdict(),
        "name": line.name if line else "",
        "phase": line.phase if line else "",
        "change": change.kind,
        "before": _line_figures(change.before, digits),
        "after": _line_figures(change.after, digits),
        "difference": fixed(amount_after - amount_before, digits),
    }


def _line_figures(line: LineFigures | None, digits: int) -> Row | None:
    if line is None:
        return None
    return {
        "quantity": fixed(line.quantity, 4),
        "unit": line.unit,
        "price": fixed(line.price, 6),
        "amount": fixed(line.amount, digits),
        "cost": fixed(line.cost, digits),
    }


def _component(key: HiddenKey, change: Change[HiddenFigures], digits: int) -> Row:
    component = change.after or change.before
    before, after = (side.allowance if side else Decimal(0) for side in (change.before, change.after))
    return {
        **key._asdict(),
        "name": component.name if component else "",
        "change": change.kind,
        "before": _hidden_figures(change.before, digits),
        "after": _hidden_figures(change.after, digits),
        "difference": fixed(after - before, digits),
    }


def _hidden_figures(component: HiddenFigures | None, digits: int) -> Row | None:
    if component is None:
        return None
    return {
        "unit": component.unit,
        "tier": component.tier,
        "exposure": fixed(component.exposure, 4),
        "chance": component.chance,
        "share": component.share,
        "unit_price": fixed(component.unit_price, 6),
        "set_up": fixed(component.set_up, digits),
        "allowance": fixed(component.allowance, digits),
    }


def refusal(error: CalculationError | None, place: tuple[str, int] | None) -> Row | None:
    """Why something could not be worked out; the places of a coach's faults are those in the request.

    Raises:
        CalculationError: the refusal is a fault of the service and not of what it was given.
    """
    if error is None:
        return None
    problem = problem_of(error)
    if problem is None:
        raise error
    return {
        "code": problem.code,
        "detail": problem.words,
        "errors": [_fault(fault, place) for fault in problem.faults],
    }


def _fault(fault: Fault, place: tuple[str, int] | None) -> Row:
    told = {"code": fault.code, "detail": fault.detail}
    if place is None:
        # A kept quote has no place in the request but its own.
        return told
    inside = _of_sample(fault.pointer) if place[0] == "samples" else member_of(fault.pointer)
    return {"pointer": pointer(*place) + inside[1:], **told}


def _of_sample(pointed: str) -> str:
    field = pointed.removeprefix("#").strip("/")
    head = field.partition("/")[0]
    if head in ROOF_PARTS:
        return f"#/roof/{field}"
    return f"#/survey/{field_in_body(field)}" if head in SURVEY_PARTS else member_of(pointed)


def _pointer(*parts: str) -> str:
    return "#/" + "/".join(part for part in parts if part)
