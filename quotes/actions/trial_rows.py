"""How does a trial of drafts stand in rows and answers? Plain JSON: amounts as texts, and line by line only what differs."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from costbase.calc.errors import CalculationError, CalculationFaults
from quotes.actions.trials import Tried, differs
from quotes.calc.compared import Change, Compared, HiddenFigures, HiddenKey, LineFigures, LineKey

Row = dict[str, Any]


def fixed(value: object, digits: int) -> str:
    """An amount that was rounded before, with the digits of its currency."""
    return f"{Decimal(str(value)):.{digits}f}"


def tried_json(one: Tried, digits: int) -> Row:
    """One coach or quote, without and with the drafts; amounts with so many digits."""
    without, with_drafts = one.without, one.with_drafts
    sides = (one.stored, without.figures, with_drafts.figures)
    return {
        "changed": differs(one),
        "refusal": {
            "without": _refusal(without.refusal),
            "with": _refusal(with_drafts.refusal),
        },
        "amounts": _table([side.amounts if side else None for side in sides], digits),
        "hours": _cells([side.hours if side else None for side in sides], 4),
        "days": _table([side.days if side else None for side in sides], None),
        "tier": dict(zip(_SIDES, [side.tier if side else None for side in sides], strict=True)),
        "change": _compared(one.change, digits),
        "drift": _compared(one.drift, digits),
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


def _compared(difference: Compared | None, digits: int) -> Row | None:
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


def _refusal(error: CalculationError | None) -> Row | None:
    """Why something could not be worked out: one fault, or all of them; `field` is the core's name for the place."""
    if error is None:
        return None
    faults = _single(error)
    first = faults[0]
    code, words = (first.code, first.message) if len(faults) == 1 else (error.code, error.message)
    errors = [{"code": fault.code, "detail": fault.message, "field": fault.field} for fault in faults]
    return {"code": code, "detail": words, "errors": errors}


def _single(error: CalculationError) -> list[CalculationError]:
    if not isinstance(error, CalculationFaults):
        return [error]
    return [single for fault in error.faults for single in _single(fault)]
