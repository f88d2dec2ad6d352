"""Why does this line cost what it costs?"""

from decimal import Decimal

from costbase.calc.money import marked_up
from costbase.calc.units import BY_SYMBOL, in_unit
from quotes.calc.labour import MULTIPLIER_CAP, LabourLine
from quotes.calc.packing import Packed, Part
from quotes.calc.pricing import MaterialLine
from quotes.calc.takeoff import Take, compile_assembly
from quotes.calc.why.measures import MeasureSteps
from quotes.calc.why.steps import FINE_SHOWN, Context, NothingToExplainError, Why, WhyStep, edition_words, number


def why_labour(context: Context, assembly: str, trade: str) -> Why:
    """The steps to a labour line: measures, quantity, hours a unit, set-up, multipliers, rate.

    Raises:
        NothingToExplainError: no such line.
    """
    line = next((x for x in context.quote.visible.labour if (x.assembly, x.trade) == (assembly, trade)), None)
    if line is None:
        raise NothingToExplainError(f"the quote has no labour line of {trade} for {assembly}")
    take = take_of(context, assembly)
    collected = MeasureSteps(context)
    quantity_steps(collected, take)
    _hour_steps(collected, take, line)
    rate, unit = context.cost_base.trades[trade], f"{context.currency}/h"
    steps = [
        *collected.steps,
        *_multiplier_steps(context, line),
        WhyStep(f"billed rate of {trade}", number(line.rate, FINE_SHOWN), unit, rate.edition.words()),
        WhyStep(f"{number(line.hours)} h x {number(line.rate, FINE_SHOWN)}, rounded", *_money(context, line.amount)),
    ]
    return Why(f"labour: {line.name}, {trade}", line.amount, tuple(steps))


def take_of(context: Context, assembly: str) -> Take:
    """The take-off of an assembly that the quote has."""
    return next(take for take in context.quote.takes if take.assembly.slug == assembly)


def _money(context: Context, amount: Decimal) -> tuple[str, str, str]:
    """An amount, its currency and no source: what follows from the steps above."""
    return context.money(amount), context.currency, ""


def quantity_steps(collected: MeasureSteps, take: Take) -> None:
    """Adds the steps to how much there is of an assembly: in each section, together, and as far as the plan takes it."""
    assembly = take.assembly
    unit, source = assembly.driver_unit, edition_words(assembly.edition)
    for label, _ in take.by_section:
        collected.formula(f"quantity of {assembly.name}", compile_assembly(assembly).driver, label, unit, source)
    whole = sum(driver for _, driver in take.by_section)
    if len(take.by_section) > 1:
        collected.steps.append(WhyStep("quantity, all sections together", number(in_unit(whole, unit)), unit, ""))
    if take.scale != 1.0:
        taken, plan = number(in_unit(take.driver, unit)), collected.context.cost_base.plan.edition.words()
        collected.steps.append(WhyStep(f"the plan takes {number(take.scale)} of it", taken, unit, plan))


def _hour_steps(collected: MeasureSteps, take: Take, line: LabourLine) -> None:
    """Hours a unit of this trade, set-up and minimum, and the hours that they come to before multipliers."""
    assembly = take.assembly
    source, unit = edition_words(assembly.edition), assembly.driver_unit
    factor = float(BY_SYMBOL[unit].factor)
    parts: list[str] = []
    for rate, formula in zip(assembly.labour, compile_assembly(assembly).rates, strict=True):
        if rate.trade != line.trade:
            continue
        # A rate that reads a measure may differ from section to section; one that reads none is told once.
        labels = take.by_section if formula.inputs else take.by_section[:1]
        for label, driver in labels:
            hours = float(formula(collected.values(label))) * factor
            for slug in formula.inputs:
                collected.measure(slug, label)
            text = f"hours of {line.trade} for one{'' if unit == 'each' else f' {unit}'}: {rate.rate}"
            each = number(in_unit(hours, "h"), FINE_SHOWN)
            collected.steps.append(WhyStep(text, each, f"h/{unit}", source))
            quantity = driver * take.scale if formula.inputs else take.driver
            parts.append(f"{number(in_unit(quantity, unit))} {unit} x {each} h/{unit}")
    if assembly.set_up_hours > 0 and assembly.set_up_trade == line.trade:
        shown = number(assembly.set_up_hours)
        collected.steps.append(WhyStep("set-up, once a quote", shown, "h", source))
        parts.insert(0, f"{shown} h")
    text = " + ".join(parts)
    if assembly.minimum_hours > 0:
        collected.steps.append(WhyStep("least hours of a trade", number(assembly.minimum_hours), "h", source))
        text += f", at least {number(assembly.minimum_hours)} h"
    if line.multipliers:
        text += ", before conditions"
    collected.steps.append(WhyStep(text, number(line.template_hours), "h", ""))


def _multiplier_steps(context: Context, line: LabourLine) -> list[WhyStep]:
    if not line.multipliers:
        return []
    conditions = context.cost_base.conditions
    steps = [
        WhyStep(
            f"condition: {conditions[m.slug].name} ({m.reason})",
            number(m.factor),
            "times",
            conditions[m.slug].edition.words(),
        )
        for m in line.multipliers
    ]
    if len(steps) > 1:
        text = f"{' x '.join(number(m.factor) for m in line.multipliers)}, at most {number(MULTIPLIER_CAP)}"
        steps.append(WhyStep(text, number(line.factor), "times", "rule: factors of one line multiply up to a cap"))
    text = f"hours before conditions x {number(line.factor)}, rounded to 4 decimals"
    return [*steps, WhyStep(text, number(line.hours), "h", "")]


def why_material(context: Context, slug: str) -> Why:
    """The steps to a material line: the need of each assembly, waste, packs, price, markup.

    Raises:
        NothingToExplainError: no such line.
    """
    line = next((x for x in context.quote.visible.materials if x.packed.material.slug == slug), None)
    if line is None:
        raise NothingToExplainError(f"the quote has no material line for {slug}")
    collected = MeasureSteps(context)
    for part in line.parts:
        _need_steps(collected, part, line)
    packed = line.packed
    material, source = packed.material, packed.material.edition.words()
    net = " + ".join(number(part.net) for part in line.parts)
    price, amount = number(line.price, FINE_SHOWN), line.amount
    steps = [
        *collected.steps,
        WhyStep(f"net need over the whole quote: {net}", number(packed.net), material.unit, ""),
        WhyStep(f"with waste of {number(material.waste_share * 100)} %, once", number(packed.gross), material.unit, source),
        _count_step(context, packed),
        *_price_steps(context, line),
        WhyStep(f"{number(packed.billed)} x {price}, rounded", *_money(context, amount)),
    ]
    return Why(f"material: {material.name}", amount, tuple(steps))


def _need_steps(collected: MeasureSteps, part: Part, line: MaterialLine) -> None:
    take, material = take_of(collected.context, part.assembly), line.packed.material
    source, words = edition_words(take.assembly.edition), f"needed for {take.assembly.name}"
    sizes = collected.context.quote.measured.sizes()
    stands_for = next((slug for slug, bought in sizes.items() if _is_bought(material.slug, bought)), "")
    needs = zip(take.assembly.materials, compile_assembly(take.assembly).needs, strict=True)
    formulas = [formula for need, formula in needs if need.material in (material.slug, stands_for)]
    for label, _ in take.by_section:
        for formula in formulas:
            collected.formula(words, formula, label, material.unit, source)
    if stands_for and sizes[stands_for] != ((stands_for, sizes[stands_for][0][1]),):
        text = f"{words}: the part of it that the layout takes in this size"
        skin = any(plan.needed == stands_for for plan in collected.context.quote.measured.skins.plans)
        rule = f"rule: layout of the {'skin' if skin else 'deck'}"
        collected.steps.append(WhyStep(text, number(part.net), material.unit, rule))
    elif len(take.by_section) * len(formulas) > 1:
        collected.steps.append(WhyStep(f"{words}, all together", number(part.net), material.unit, ""))


def _is_bought(slug: str, sizes: tuple[tuple[str, int], ...]) -> bool:
    return any(bought == slug for bought, _ in sizes)


def _count_step(context: Context, packed: Packed) -> WhyStep:
    material, source = packed.material, packed.material.edition.words()
    if packed.billed_in == "unit":
        rule = context.cost_base.rule.edition.words()
        return WhyStep("stock is billed by use", number(packed.billed), material.unit, rule)
    if material.sold_by == "measure":
        return WhyStep("sold by measure, half up to 2 decimals", number(packed.packs), material.unit, source)
    size = f"{number(material.pack_size)} {material.unit}"
    text = f"{number(packed.gross)} / {size}, rounded up once to whole packs"
    return WhyStep(text, number(packed.packs), material.pack_name, source)


def _price_steps(context: Context, line: MaterialLine) -> list[WhyStep]:
    material, currency = line.packed.material, context.currency
    price, rule = context.cost_base.prices[material.slug], context.cost_base.rule
    pack = material.pack_name
    steps = [
        WhyStep(
            f"purchase price of one {pack}",
            number(line.pack_price, FINE_SHOWN),
            f"{currency}/{pack}",
            price.edition.words(),
            purchase=True,
        ),
        WhyStep(
            f"markup of class {material.markup_class}",
            number(line.markup * 100),
            "%",
            rule.edition.words(),
            purchase=True,
        ),
    ]
    sale = number(marked_up(line.pack_price, line.markup), FINE_SHOWN)
    steps.append(WhyStep(f"price of one {pack} with markup", sale, f"{currency}/{pack}", ""))
    if line.packed.billed_in == "unit":
        text = f"price of one {material.unit}, of {number(material.pack_size)} in a {pack}"
        each = f"{currency}/{material.unit}"
        steps.append(WhyStep(text, number(line.price, FINE_SHOWN), each, material.edition.words()))
    return steps


def why_freight(context: Context, slug: str) -> Why:
    """The steps to the freight of a material: what an order's freight costs the shop, and the markup.

    Args:
        context: the quote, worked out again.
        slug: of the line, e.g. ``freight:frp-skin-108-in``.

    Raises:
        NothingToExplainError: no such line.
    """
    line = next((x for x in context.quote.visible.freight if x.slug == slug), None)
    if line is None:
        raise NothingToExplainError(f"the quote has no line {slug}")
    material = line.material
    price, rule = context.cost_base.prices[material.slug].edition, context.cost_base.rule.edition
    shown, order = number(line.price, FINE_SHOWN), f"{context.currency}/order"
    paid, share = number(line.freight, FINE_SHOWN), number(line.markup * 100)
    steps = (
        WhyStep("purchase price of the freight of one order", paid, order, price.words(), purchase=True),
        WhyStep(f"markup of class {material.markup_class}", share, "%", rule.words(), purchase=True),
        WhyStep("freight of one order with markup", shown, order, ""),
        WhyStep(f"1 x {shown}, rounded", *_money(context, line.amount)),
    )
    return Why(line.name, line.amount, steps)


def why_shop(context: Context, slug: str) -> Why:
    """The steps to one of the shop's own lines.

    Raises:
        NothingToExplainError: no such line.
    """
    line = next((x for x in context.quote.visible.shop if x.slug == slug), None)
    if line is None:
        raise NothingToExplainError(f"the quote has no line {slug}")
    rule, visible = context.cost_base.rule, context.quote.visible
    source = rule.edition.words()
    steps = [WhyStep("labour lines together", *_money(context, visible.labour_total))]
    if slug != "shop-supplies":
        steps.append(WhyStep("material lines together", *_money(context, visible.material_total)))
        earlier = {"overhead": ("shop-supplies",), "minimum-charge": ("shop-supplies", "overhead")}[slug]
        steps += [WhyStep(x.name, *_money(context, x.amount)) for x in visible.shop if x.slug in earlier]
    if slug == "minimum-charge":
        steps.append(WhyStep("minimum charge", context.money(line.worked_on), context.currency, source))
        steps.append(WhyStep("minimum charge less the lines above", *_money(context, line.amount)))
    else:
        text = f"{number(line.share * 100)} % of {context.money(line.worked_on)}"
        if slug == "shop-supplies" and rule.supplies_cap is not None:
            text += f", at most {number(rule.supplies_cap)}"
        steps.append(WhyStep(text, context.money(line.amount), context.currency, source))
    return Why(line.name, line.amount, tuple(steps))
