"""How is a job shown, and to whom? Amounts are texts in the job's currency; cost is for managers and analysts."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from api.rest.quote_answers import COST_READERS, component_shown, fixed, line_shown
from costbase.calc.money import currency as currency_of
from quotes.calc.job import moves_by_hand
from quotes.models import Job

Row = dict[str, Any]

_PLAIN = ("id", "number", "state", "price_basis", "currency", "version")
_DAYS = ("promised_on", "opened_on", "handed_over_on", "closed_on")
_LIMITS = (
    "base", "record", "limit", "base_with_tax", "limit_with_tax", "deposit", "authorised", "authorised_with_tax",
    "overrun_with_tax",
)  # fmt: skip
_DRAWN = ("work", "set_up", "amount")


def brief_job(job: Any) -> Row:
    """What a list shows of a job, annotated as `brief_jobs` does."""
    digits = currency_of(job.currency).digits
    return {
        **{name: getattr(job, name) for name in _PLAIN},
        "quote": job.quote_id,
        "coach": job.coach_id,
        "customer": job.customer_id,
        "fleet": job.fleet_id,
        "returns_to": job.returns_to_id,
        "step": job.step_id,
        "whole": job.whole,
        **{name: fixed(getattr(job, name), digits) for name in ("limit_with_tax", "authorised_with_tax", "drawn")},
        "left": fixed(job.contingency - job.drawn, digits),
        **{name: _day(getattr(job, name)) for name in _DAYS},
        "late": job.late,
        "created": job.created.isoformat(),
    }


def job_answer(
    job: Any, role: str, *, opens: bool, lines: Iterable[Row], components: Iterable[Row], drawn: Mapping[tuple[str, str], Row]
) -> Row:
    """The whole job.

    Args:
        job: annotated as `brief_jobs` does.
        role: of the reader.
        opens: whether its plan opens the roof.
        lines: as agreed.
        components: as agreed.
        drawn: by component and construction, as `drawn_by_component` adds it up.
    """
    digits = currency_of(job.currency).digits
    limits = {name: fixed(getattr(job, name), digits) for name in _LIMITS}
    if role in COST_READERS:
        limits["cost"] = fixed(job.cost, digits)
    return {
        **brief_job(job),
        "resumes": job.resumes,
        "moves": list(moves_by_hand(job.state, opens=opens)),
        "reason": job.reason,
        "options": list(job.options),
        "hours": str(job.hours),
        "limits": limits,
        "pot": pot_shown(job, digits),
        "lines": [line_shown(line, digits, role) for line in lines],
        "hidden": [_component(component, drawn, digits) for component in components],
    }


def pot_shown(job: Job, digits: int) -> Row:
    """What is set aside, drawn, and left."""
    left = Decimal(str(job.contingency)) - Decimal(str(job.drawn))
    return {"contingency": fixed(job.contingency, digits), "drawn": fixed(job.drawn, digits), "left": fixed(left, digits)}


_NOTHING: Row = {"extent": Decimal(0), "work": Decimal(0), "set_up": Decimal(0), "amount": Decimal(0)}


def _component(component: Row, drawn: Mapping[tuple[str, str], Row], digits: int) -> Row:
    own = drawn.get((component["slug"], component["construction"]), _NOTHING)
    return {
        **component_shown(component, digits),
        "drawn": {"extent": f"{own['extent']:.4f}", **{name: fixed(own[name], digits) for name in _DRAWN}},
        "left": fixed(component["allowance"] - own["amount"], digits),
    }


def _day(value: Any) -> str | None:
    return value.isoformat() if value else None
