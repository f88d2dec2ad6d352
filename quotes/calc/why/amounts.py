"""Why is this sum what it is?"""

from collections.abc import Callable
from decimal import Decimal

from quotes.calc.tax import TAX_CLASSES, Tax
from quotes.calc.totals import amounts_by_class, largest_material_share
from quotes.calc.why.allowance import contingency_steps, set_aside_again
from quotes.calc.why.steps import FINE_SHOWN, Context, NothingToExplainError, Why, WhyStep, number

Worker = Callable[[Context], tuple[Decimal, list[WhyStep]]]

_SET_ASIDE = "why: allowance"
_RECORD = "record: closed jobs of this shop"


def why_amount(context: Context, name: str) -> Why:
    """The steps to one of the quote's amounts.

    Args:
        context: the quote, worked out again.
        name: one of `AMOUNTS`.

    Raises:
        NothingToExplainError: any other name.
    """
    if name not in AMOUNTS:
        raise NothingToExplainError(f"expected one of {', '.join(AMOUNTS)}, not {name!r}", field="amount", value=name)
    value, steps = AMOUNTS[name](context)
    return Why(name, value, tuple(steps))


def _step(context: Context, text: str, value: Decimal, source: str = "") -> WhyStep:
    return WhyStep(text, context.money(value), context.currency, source)


def _labour(context: Context) -> tuple[Decimal, list[WhyStep]]:
    visible = context.quote.visible
    steps = [
        _step(context, f"labour: {line.name}, {line.trade}", line.amount, f"why: line {line.assembly}")
        for line in visible.labour
    ]
    return visible.labour_total, [*steps, _step(context, "labour lines together", visible.labour_total)]


def _materials(context: Context) -> tuple[Decimal, list[WhyStep]]:
    visible = context.quote.visible
    steps = []
    for line in visible.materials:
        material = line.packed.material
        steps.append(_step(context, f"material: {material.name}", line.amount, f"why: line {material.slug}"))
    steps += [_step(context, line.name, line.amount, f"why: line {line.slug}") for line in visible.freight]
    return visible.material_total, [*steps, _step(context, "material lines together", visible.material_total)]


def _base(context: Context) -> tuple[Decimal, list[WhyStep]]:
    visible = context.quote.visible
    steps = [*_labour(context)[1], *_materials(context)[1]]
    steps += [_step(context, line.name, line.amount, f"why: line {line.slug}") for line in visible.shop]
    steps.append(_step(context, "visible work: the sum of the rounded lines", visible.base))
    return visible.base, steps


def _record(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    if context.cost_base.rule.price_basis == "firm":
        rule = context.cost_base.rule.edition.words()
        return totals.record, [_step(context, "a firm price: the shop's record moves nothing", totals.record, rule)]
    steps = [
        _step(context, "visible work as this shop's record expects it", context.quote.set_aside.base_expected, _RECORD),
        _step(context, "less visible work", totals.base),
        _step(context, "this shop's record on such work", totals.record),
    ]
    return totals.record, steps


def _contingency(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    steps = contingency_steps(context, set_aside_again(context))
    return totals.contingency, [*steps, _step(context, "contingency", totals.contingency)]


def _reserve(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    steps = [_step(context, "contingency", totals.contingency, _SET_ASIDE)]
    steps.append(_step(context, "less allowance", totals.allowance, _SET_ASIDE))
    return totals.reserve, [*steps, _step(context, "reserve", totals.reserve)]


def _limit(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    steps = [_step(context, "visible work", totals.base)]
    if context.cost_base.rule.price_basis == "open":
        steps.append(_step(context, "this shop's record on such work", totals.record, _RECORD))
    steps.append(_step(context, "set aside for hidden work", totals.contingency, _SET_ASIDE))
    return totals.limit, [*steps, _step(context, "limit: their sum", totals.limit)]


def _class_steps(context: Context) -> list[WhyStep]:
    by_class = amounts_by_class(context.quote.visible)
    source = f"{context.cost_base.rule.edition.words()}; tax class of each material"
    return [
        _step(context, f"visible work of tax class {tax_class}", by_class[tax_class], source)
        for tax_class in TAX_CLASSES
        if tax_class in by_class
    ]


def _base_tax(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    return totals.base_tax, [*_class_steps(context), *_tax_steps(context, totals.base_taxes, totals.base_tax)]


def _limit_tax(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals, mode = context.quote.totals, context.cost_base.rule.tax_mode
    steps = [*_class_steps(context), _step(context, "set aside for hidden work", totals.contingency, _SET_ASIDE)]
    if totals.record:
        steps.append(_step(context, "this shop's record on such work", totals.record, _RECORD))
    if mode in ("parts_only", "separated"):
        share = number(largest_material_share(context.quote.hidden) * 100)
        text = "largest share of material in the unit price of a component that is exposed"
        steps.append(WhyStep(text, share, "%", "why: unit prices"))
    return totals.limit_tax, [*steps, *_tax_steps(context, totals.limit_taxes, totals.limit_tax)]


def _tax_steps(context: Context, taxes: tuple[Tax, ...], total: Decimal) -> list[WhyStep]:
    rule = context.cost_base.rule
    mode = f"taxed under mode {rule.tax_mode.replace('_', ' ')}"
    steps = [_step(context, mode, taxes[0].base if taxes else Decimal(0), rule.edition.words())]
    steps += [
        _step(context, f"{tax.name}: {number(tax.rate * 100)} % of it, rounded once", tax.amount, rule.edition.words())
        for tax in taxes
    ]
    return [*steps, _step(context, "tax", total)]


def _base_with_tax(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    steps = [_step(context, "visible work", totals.base), _step(context, "tax on it", totals.base_tax)]
    return totals.base_with_tax, [*steps, *_rounding(context, totals.base_rounding, totals.base_with_tax)]


def _limit_with_tax(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    steps = [_step(context, "limit", totals.limit), _step(context, "the most tax that can fall on it", totals.limit_tax)]
    return totals.limit_with_tax, [*steps, *_rounding(context, totals.limit_rounding, totals.limit_with_tax)]


def _rounding(context: Context, rounding: Decimal, total: Decimal) -> list[WhyStep]:
    rule = context.cost_base.rule
    steps = []
    if rule.total_step > 0:
        text = f"to steps of {number(rule.total_step)}, half up"
        steps.append(_step(context, text, rounding, rule.edition.words()))
    return [*steps, _step(context, "sum", total)]


def _base_rounding(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    before = [_step(context, "visible work", totals.base), _step(context, "tax on it", totals.base_tax)]
    return totals.base_rounding, _to_step(context, before, totals.base_with_tax, totals.base_rounding)


def _limit_rounding(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals = context.quote.totals
    before = [_step(context, "limit", totals.limit), _step(context, "the most tax that can fall on it", totals.limit_tax)]
    return totals.limit_rounding, _to_step(context, before, totals.limit_with_tax, totals.limit_rounding)


def _to_step(context: Context, before: list[WhyStep], total: Decimal, rounding: Decimal) -> list[WhyStep]:
    """The owner's rounding as a line: what the total is after it, less what came before."""
    rule = context.cost_base.rule
    source = rule.edition.words()
    if rule.total_step == 0:
        return [*before, _step(context, "the pricing rule rounds the total to no step", rounding, source)]
    text = f"their sum to steps of {number(rule.total_step)}, half up"
    return [*before, _step(context, text, total, source), _step(context, "that less the sum", rounding)]


def _deposit(context: Context) -> tuple[Decimal, list[WhyStep]]:
    totals, rule = context.quote.totals, context.cost_base.rule
    text = f"{number(rule.deposit_share * 100, FINE_SHOWN)} % of visible work with tax, {context.money(totals.base_with_tax)}"
    return totals.deposit, [_step(context, text, totals.deposit, rule.edition.words())]


AMOUNTS: dict[str, Worker] = {
    "labour": _labour,
    "materials": _materials,
    "base": _base,
    "record": _record,
    "contingency": _contingency,
    "reserve": _reserve,
    "limit": _limit,
    "base_tax": _base_tax,
    "limit_tax": _limit_tax,
    "base_rounding": _base_rounding,
    "limit_rounding": _limit_rounding,
    "base_with_tax": _base_with_tax,
    "limit_with_tax": _limit_with_tax,
    "deposit": _deposit,
}
