"""Why is counted work settled at this unit price?"""

from collections.abc import Iterator
from decimal import Decimal

from costbase.calc.money import decimal_quantity
from quotes.calc.kinds import (
    CountedPrice,
    CountedWork,
    MaterialShare,
    by_assembly,
    counted_labour,
    counted_work,
    material_shares,
)
from quotes.calc.labour import LabourLine
from quotes.calc.pricing import MaterialLine
from quotes.calc.takeoff import Take
from quotes.calc.why.lines import quantity_steps, take_of
from quotes.calc.why.measures import MeasureSteps
from quotes.calc.why.steps import FINE_SHOWN, Context, NothingToExplainError, Why, WhyStep, edition_words, number


def why_counted(context: Context, slug: str) -> Why:
    """The steps from the lines of a counted assembly to its unit price: what stays, what the rest is for one unit, together.

    Raises:
        NothingToExplainError: the quote has no counted work of this assembly.
    """
    quote = context.quote
    works = counted_work(quote.visible, by_assembly(quote.takes), quote.currency)
    work = next((one for one in works if one.assembly == slug), None)
    if work is None:
        words = ", ".join(one.assembly for one in works) or "none"
        raise NothingToExplainError(f"the quote has no counted work '{slug}'; it has: {words}", field="counted", value=slug)
    take = take_of(context, slug)
    collected = MeasureSteps(context)
    quantity_steps(collected, take)
    for labour in quote.visible.labour:
        if labour.assembly == slug:
            collected.steps += _labour_steps(context, labour, take)
    for material in quote.visible.materials:
        for share in material_shares(material, by_assembly(quote.takes), quote.currency):
            if share.part.assembly == slug:
                collected.steps += _material_steps(context, material, share)
    return Why(f"counted: {work.name}", work.unit_price, (*collected.steps, *_sum_steps(context, work)))


def _labour_steps(context: Context, line: LabourLine, take: Take) -> Iterator[WhyStep]:
    price = counted_labour(line, take, context.quote.currency)
    assert price is not None
    source = f"why: line {line.assembly}"
    yield WhyStep(f"{line.trade}: the line", context.money(line.amount), context.currency, source)
    if price.set_up > 0:
        assembly = take.assembly
        stays = f"{line.trade}: what stays whatever is found, set-up of {number(assembly.set_up_hours)} h"
        if line.factor != 1:
            stays += f" x {number(line.factor)}"
        if line.set_up_hours != decimal_quantity(assembly.set_up_hours * float(line.factor)):
            # Of a coach in a fleet: set-up is once for all of them.
            stays = (
                f"{line.trade}: what stays whatever is found, its share of the fleet's set-up, {number(line.set_up_hours)} h"
            )
        stays += f" x {number(line.rate, FINE_SHOWN)}"
        if price.set_up == line.amount:
            stays = f"{line.trade}: the least hours of a trade, {number(assembly.minimum_hours)} h, stay whatever is found"
        trade = context.cost_base.trades[line.trade]
        words = f"{edition_words(assembly.edition)}; {trade.edition.words()}"
        yield WhyStep(stays, context.money(price.set_up), context.currency, words)
    yield _each(context, line.trade, line.amount, price)


def _material_steps(context: Context, line: MaterialLine, share: MaterialShare) -> Iterator[WhyStep]:
    material = line.packed.material
    yield WhyStep(f"{material.name}: the line", context.money(line.amount), context.currency, f"why: line {material.slug}")
    if len(line.parts) > 1:
        text = (
            f"{material.name}: the share of this work, {number(share.part.need)} of {number(line.packed.net)} {material.unit}"
        )
        yield WhyStep(f"{text}, so that all shares add up", context.money(share.amount), context.currency, "")
    assert share.counted is not None
    yield _each(context, material.name, share.amount, share.counted)


def _each(context: Context, of: str, amount: Decimal, price: CountedPrice) -> WhyStep:
    left = context.money(amount)
    if price.set_up > 0:
        left = f"({left} - {context.money(price.set_up)})"
    text = f"{of}: {left} / {number(price.quantity)} {price.unit}, rounded to 6 decimals"
    return WhyStep(text, str(price.unit_price), f"{context.currency}/{price.unit}", "")


def _sum_steps(context: Context, work: CountedWork) -> list[WhyStep]:
    stays = WhyStep("set-up, which stays whatever is found", context.money(work.set_up), context.currency, "")
    text = "unit price: billed less for each that is not found"
    return [stays, WhyStep(text, str(work.unit_price), f"{context.currency}/{work.unit}", "")]
