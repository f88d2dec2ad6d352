"""Which steps were offered before the whole, what does one come to, and what does its owner see?"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet

from costbase.calc.cost_base import CostBase
from costbase.calc.money import Currency, amount, currency
from costbase.calc.units import BY_SYMBOL
from costbase.models import Shop
from quotes.calc.change_order import AssemblyWork, Bought, JobTerms, OrderLine, WorkError, laid_under
from quotes.calc.looks import next_looks
from quotes.calc.tax import Tax
from quotes.calc.why import Context
from quotes.models import Quote, StepOffer

Row = dict[str, Any]

FORM = 1
OWNER = "owner"
TERMS_VERSION = "step-1"
_TERMS = (
    "The limit with tax is the most that is paid for this step without a new consent. It is no consent to the work after it.",
    "What it costs to close up, and the days that the coach stands, are paid only if the work ends here.",
)
_COUNTS = "If the whole work is agreed later, this step is part of its price and is not paid twice."
_BESIDE = "This step is paid beside the whole work, whether that is agreed later or not."
WORDS: Mapping[str, str] = {
    "teardown": (
        "Once the roof is open the coach may not go back together as it was. What is found may rule that out, and what "
        "teardown destroys is not there any more."
    ),
    "look_first": (
        "A look opens a little of the roof and closes it again; what it finds may ask for more before the coach leaves."
    ),
}
"""Kind of step -> the notice that stands in it unless the shop words its own."""


def steps_of(shop: Shop, quote_id: int) -> QuerySet[StepOffer]:
    """The steps of a quote, to be put in order."""
    return StepOffer.objects.for_shop(shop).filter(quote_id=quote_id)


def step_terms(context: Context, today: CostBase, work: Sequence[OrderLine]) -> JobTerms:
    """What a quote brings to the pricing of a step, with the work of the step done and bought.

    Args:
        context: the quote, worked again.
        today: what is in force, for what its frozen cost base does not hold.
        work: lines of the step so far, the shop's lines included.
    """
    base, added = laid_under(context.cost_base, today)
    measured = context.quote.measured
    return JobTerms(
        cost_base=base,
        added=added,
        added_on=today.priced_on,
        sections=measured.sections,
        whole=measured.whole,
        sizes=measured.sizes(),
        multipliers=context.quote.multipliers,
        quoted=frozenset(),
        carried=frozenset(line.slug for line in work if line.kind == "labour"),
        bought={
            line.slug: Bought(Decimal(str(line.details["net"])), line.quantity)
            for line in work
            if line.kind == "material" and "net" in line.details
        },
        labour=_sum(line.amount for line in work if line.kind == "labour"),
        supplies=_sum(line.amount for line in work if line.slug == "shop-supplies"),
        repairs={},
    )


def look_works(context: Context, looks: Iterable[tuple[str, str]]) -> list[AssemblyWork]:
    """The looks asked for, as work: each as far as `next_looks` would go, on the section where the component is exposed.

    Args:
        context: the quote, worked again.
        looks: component and the assembly of the look.

    Raises:
        WorkError: a look that this quote does not offer.
    """
    spread = context.rules.survey_spread[context.inputs.survey.method]
    offered = next_looks(context.quote, context.cost_base, context.factors, spread, context.points)
    works = []
    for at, (component, assembly) in enumerate(looks):
        found = [one for one in offered if (one.component, one.assembly) == (component, assembly)]
        if not found:
            known = ", ".join(f"{one.component} by {one.assembly}" for one in offered) or "none"
            words = f"no look at '{component}' by '{assembly}' is offered here; expected one of: {known}"
            raise WorkError(words, field=f"looks/{at}", value=assembly)
        hidden = next(
            work
            for work in context.quote.hidden
            if (work.component.slug, work.construction) == (component, found[0].construction)
        )
        look = next(each for each in hidden.component.looks if each.assembly == assembly)
        section = next(part.section for part in hidden.sections if part.exposure > 0)
        template = context.cost_base.assemblies[assembly]
        much = found[0].extent * _unit_of(hidden.component.unit)
        works.append(AssemblyWork(assembly, section if template.level == "section" else "", {look.measure: much}, look.name))
    return works


def line_from_row(row: Mapping[str, Any]) -> OrderLine:
    """A stored line of a step as it was priced."""
    words: Row = {name: row[name] for name in ("kind", "slug", "trade", "name", "phase", "unit", "tax_class", "details")}
    numbers: Row = {name: Decimal(row[name]) for name in ("quantity", "price", "amount", "cost")}
    return OrderLine(**words, **numbers)


def lines_of(step: StepOffer, *parts: str) -> list[OrderLine]:
    """The lines of these parts of a step."""
    return [line_from_row(row) for row in step.lines if row["part"] in parts]


def step_document(quote: Quote, step: StepOffer, taxes: Sequence[Tax], issued_at: str) -> Row:
    """What the owner sees and signs of a step: texts and whole numbers only, and nobody's name."""
    money = currency(quote.currency)
    return {
        "limit_with_tax": _fixed(step.limit_with_tax, money),
        "currency": quote.currency,
        "kind": "step",
        "form": FORM,
        "step": step.kind,
        "quote": quote.number,
        "revision": quote.revision,
        "number": step.number,
        "coach": quote.coach_id,
        "issued_at": issued_at,
        "valid_until": step.valid_until.isoformat(),
        "amounts": {name: _fixed(getattr(step, name), money) for name in ("amount", "close_up", "storage", "limit")},
        "taxes": [
            {"name": tax.name, "rate": f"{tax.rate.normalize():f}", "amount": _fixed(tax.amount, money)} for tax in taxes
        ],
        "lines": [_line(row, money) for row in step.lines],
        "storage": {"price_a_day": _fixed(step.storage_price, money), "most_days": step.storage_days},
        "destroyed": list(step.destroyed),
        "notice": step.notice,
        "payers": [{"payer": OWNER, "kind": OWNER, "limit_with_tax": _fixed(step.limit_with_tax, money)}],
        "terms": {"version": TERMS_VERSION, "sentences": [*_TERMS, _COUNTS if step.counts else _BESIDE]},
    }


def zeroed(totals: Mapping[str, Any]) -> Row:
    """The totals of a job of which nothing whole was agreed yet, in the form of a quote's."""
    nothing = {name: "0" for name in ("labour", "materials", "deposit", "base_expected")}
    for part in ("base", "limit"):
        nothing |= {f"{part}_tax": "0", f"{part}_rounding": "0"}
    return {
        **nothing,
        "base_taxes": [],
        "limit_taxes": [],
        "coverage_share": totals["coverage_share"],
        **{name: {} for name in ("hours_by_phase", "hours_by_trade", "amounts_by_phase")},
        "amounts_by_kind": dict.fromkeys(totals["amounts_by_kind"], "0"),
        "counted": [],
        "offered": {"options": [], "together": None},
    }


def _line(row: Mapping[str, Any], money: Currency) -> Row:
    quantity = Decimal(row["quantity"]).normalize()
    return {
        **{name: row[name] for name in ("part", "kind", "name", "trade", "phase", "unit")},
        "quantity": f"{quantity:f}",
        "amount": _fixed(Decimal(row["amount"]), money),
    }


def _unit_of(unit: str) -> float:
    """Canonical value of one unit of a component; looks of what is counted take a number."""
    return 1.0 if unit == "each" else float(BY_SYMBOL[unit].factor)


def _fixed(value: Any, money: Currency) -> str:
    """An amount that was rounded before, with the decimals of its currency."""
    return f"{amount(Decimal(str(value)), money):f}"


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))
