"""Why does ticking an option change the price by that much?"""

from dataclasses import replace
from decimal import Decimal

from quotes.calc.options import ChangedLine, Ticked, difference, with_options
from quotes.calc.why.lines import why_freight, why_labour, why_material, why_shop
from quotes.calc.why.steps import Context, NothingToExplainError, Why, WhyStep, number

# Totals in the order in which they are worked, with their words; the last is what the owner signs.
_TOTALS = (
    ("base", "visible work"),
    ("base_tax", "tax on it"),
    ("base_rounding", "rounding of visible work with tax"),
    ("base_with_tax", "visible work with tax"),
    ("deposit", "deposit"),
    ("record", "this shop's record on such work"),
    ("contingency", "set aside for hidden work"),
    ("limit", "limit"),
    ("limit_tax", "the most tax that can fall on it"),
    ("limit_rounding", "rounding of the limit with tax"),
    ("limit_with_tax", "limit with tax"),
)


def why_option(context: Context, slug: str) -> Why:
    """The steps to what one offered option adds to the limit with tax: its lines, and every total with it and without.

    Raises:
        NothingToExplainError: it is not offered.
    """
    if slug not in context.inputs.offered:
        words = ", ".join(context.inputs.offered) or "none"
        raise NothingToExplainError(f"'{slug}' is not offered with the quote; offered are: {words}", field="option", value=slug)
    return _why(context, (slug,), f"option: {context.cost_base.assemblies[slug].name}")


def why_options(context: Context) -> Why:
    """The steps to what all offered options together add to the limit with tax.

    Raises:
        NothingToExplainError: none is offered.
    """
    if not context.inputs.offered:
        raise NothingToExplainError("no option is offered with the quote", field="option")
    return _why(context, context.inputs.offered, "all options that are offered")


def _why(context: Context, slugs: tuple[str, ...], of: str) -> Why:
    worked = with_options(context.inputs, slugs, context.cost_base, context.rules, context.factors, context.points)
    sold = replace(context.inputs, options=(*context.inputs.options, *slugs))
    after = replace(context, inputs=sold, quote=worked)
    ticked = difference(context.quote, worked, slugs, of)
    steps = [step for line in ticked.lines for step in _line_steps(context, after, line)]
    steps += _total_steps(context, after, ticked)
    return Why(of, ticked.limit_with_tax, tuple(steps))


def _line_steps(before: Context, after: Context, line: ChangedLine) -> list[WhyStep]:
    """How the line comes about with the options, and how much of it is theirs where it was there without them."""
    name = f"{line.name}, {line.trade}" if line.trade else line.name
    there = _amount_of(before, line)
    steps = list(_walk(after, line)) if _amount_of(after, line) is not None else []
    if there is None:
        return steps
    return [
        *steps,
        WhyStep(f"{name}: without it", before.money(there), before.currency, f"why: line {line.slug}"),
        WhyStep(f"{name}: what it changes", before.money(line.amount), before.currency, ""),
    ]


def _walk(context: Context, line: ChangedLine) -> tuple[WhyStep, ...]:
    if line.kind == "labour":
        return why_labour(context, line.slug, line.trade).steps
    if line.slug in {freight.slug for freight in context.quote.visible.freight}:
        return why_freight(context, line.slug).steps
    if line.kind == "material":
        return why_material(context, line.slug).steps
    return why_shop(context, line.slug).steps


def _amount_of(context: Context, line: ChangedLine) -> Decimal | None:
    """The amount of the same line in a quote; None where it has none."""
    visible = context.quote.visible
    found: dict[tuple[str, str, str], Decimal] = {("labour", x.assembly, x.trade): x.amount for x in visible.labour}
    found |= {("material", x.packed.material.slug, ""): x.amount for x in visible.materials}
    found |= {("material", x.slug, ""): x.amount for x in visible.freight}
    found |= {("shop", x.slug, ""): x.amount for x in visible.shop}
    return found.get((line.kind, line.slug, line.trade))


def _total_steps(context: Context, after: Context, ticked: Ticked) -> list[WhyStep]:
    one, other = context.quote.totals, after.quote.totals
    steps = []
    for name, words in _TOTALS:
        with_it, without = context.money(getattr(other, name)), context.money(getattr(one, name))
        text = f"{words}: {with_it} with it less {without} without"
        steps.append(WhyStep(text, context.money(getattr(ticked, name)), context.currency, f"why: amount {name}"))
    days = f"days in the shop: from {number(context.quote.days.low)} to {number(after.quote.days.low)} without hidden work"
    return [*steps[:-1], WhyStep(days, number(ticked.low), "day", ""), steps[-1]]
