"""Why this price for one unit of hidden work?"""

from decimal import Decimal

from costbase.calc.money import unit_price
from costbase.calc.units import in_unit, show
from quotes.calc.boards import sheet_of
from quotes.calc.hidden import HiddenComponent, LabourPart, MaterialPart, RepairPart, SectionCost, section_costs
from quotes.calc.sheets import lay_piece
from quotes.calc.takeoff import needs_by_sheet
from quotes.calc.why.steps import FINE_SHOWN, Context, NothingToExplainError, Why, WhyStep, edition_words, number


def why_unit_price(context: Context, component: str, construction: str = "") -> Why:
    """The steps to the agreed unit price of one hidden component, and to its set-up.

    Args:
        context: the quote, worked out again.
        component: its slug.
        construction: which one, where the roof has sections of several; the first otherwise.

    Raises:
        NothingToExplainError: the quote has no such component.
    """
    work = _component(context, component, construction)
    sections = context.quote.measured.sections
    of_kind = {label: values for label, values in sections.items() if values["roof_kind"] == work.construction}
    costs = section_costs(work.component, work.sections, work.share, of_kind, context.cost_base)
    steps: list[WhyStep] = []
    for cost in costs:
        steps += _find_steps(context, work, cost)
        for repair in cost.repairs:
            steps += _repair_steps(context, work, repair)
        steps += _sum_steps(context, work, cost, several=len(costs) > 1)
    steps += _whole_steps(context, work, costs)
    return Why(f"unit price of {work.component.name}", work.cost.price, tuple(steps))


def _component(context: Context, slug: str, construction: str) -> HiddenComponent:
    for work in context.quote.hidden:
        if work.component.slug == slug and construction in ("", work.construction):
            return work
    known = ", ".join(dict.fromkeys(work.component.slug for work in context.quote.hidden))
    raise NothingToExplainError(f"the quote has no hidden component {slug!r}; it has: {known}", field="component", value=slug)


def _per(context: Context, work: HiddenComponent) -> str:
    return f"{context.currency}/{work.component.unit}"


def _find_steps(context: Context, work: HiddenComponent, cost: SectionCost) -> list[WhyStep]:
    """At which extent the repair is priced, and why at that one."""
    component, unit = work.component, work.component.unit
    exposure = next(part.exposure for part in work.sections if part.section == cost.section)
    values = context.quote.measured.sections[cost.section]
    if component.priced_share is not None and float(values["deck_area"]) > 0:
        deck = number(in_unit(float(values["deck_area"]), unit))
        text = (
            f"priced at a find of {number(component.priced_share * 100)} % of {deck} {unit} of deck on section {cost.section}"
        )
    elif exposure > 0:
        text = f"priced at the mean find on section {cost.section}, {number(work.share * 100)} % of {number(exposure)} {unit}"
    else:
        text = f"nothing of it is exposed: priced at one {unit} on section {cost.section}"
    steps = [WhyStep(text, number(cost.find), unit, component.edition.words())]
    return steps + _deck_steps(context, work, cost)


def _deck_steps(context: Context, work: HiddenComponent, cost: SectionCost) -> list[WhyStep]:
    """The layout of a hidden piece of deck, where the repair reads it."""
    values = context.quote.measured.sections[cost.section]
    length, arc = float(values["roof_length"]), float(values["crown_arc"])
    laying = next((repair.assembly for repair in cost.repairs if needs_by_sheet(repair.assembly)), None)
    if laying is None or length * arc <= 0:
        return []
    sheet = sheet_of([laying], context.cost_base)
    course = sheet.width * arc
    area = cost.find * course / in_unit(course, work.component.unit)
    piece, rule = lay_piece(length, arc, area, sheet), "rule: layout of the deck, a find is no whole number of courses"
    wide, across = show(sheet.width, "ft"), show(arc, "ft")
    joints = f"deck_joint_length of that find: a joint for each course and one more, each {across}"
    return [
        WhyStep(f"courses of that find, each {wide} by {across}", number(area / course), "each", rule),
        WhyStep("deck_sheets of that find", number(piece.sheets), "each", rule),
        WhyStep(joints, number(in_unit(piece.joint_length, "ft")), "ft", rule),
    ]


def _repair_steps(context: Context, work: HiddenComponent, repair: RepairPart) -> list[WhyStep]:
    saved = "saved: " if repair.sign < 0 else ""
    name = f"{saved}{repair.assembly.name}"
    steps = [_labour_step(context, work, repair, part, name) for part in repair.labour]
    for part in repair.materials:
        steps += _material_steps(context, work, repair, part, name)
    return steps


def _labour_step(context: Context, work: HiddenComponent, repair: RepairPart, part: LabourPart, name: str) -> WhyStep:
    hours, rate = number(part.hours, FINE_SHOWN), number(part.trade.billed_per_hour, FINE_SHOWN)
    source = f"{edition_words(repair.assembly.edition)}; {part.trade.edition.words()}"
    text = f"{name}, {part.trade.slug}: {hours} h at the billed rate of {rate}"
    return WhyStep(text, number(part.amount, FINE_SHOWN), _per(context, work), source)


def _material_steps(
    context: Context, work: HiddenComponent, repair: RepairPart, part: MaterialPart, name: str
) -> list[WhyStep]:
    material, price = part.material, context.cost_base.prices[part.material.slug]
    gross = part.net * (1 + material.waste_share)
    waste = f"{number(part.net, FINE_SHOWN)} with waste of {number(material.waste_share * 100)} %"
    size = f"{number(material.pack_size)} {material.unit} in a {material.pack_name}"
    source = f"{edition_words(repair.assembly.edition)}; {material.edition.words()}"
    return [
        WhyStep(f"{name}, {material.name}: {waste}", number(gross, FINE_SHOWN), material.unit, source),
        WhyStep(
            f"{material.name}: purchase price, {size}",
            number(part.pack_price, FINE_SHOWN),
            f"{context.currency}/{material.pack_name}",
            price.edition.words(),
            purchase=True,
        ),
        WhyStep(
            f"{material.name}: markup of class {material.markup_class}",
            number(part.markup * 100),
            "%",
            context.cost_base.rule.edition.words(),
            purchase=True,
        ),
        WhyStep(f"{material.name}: what the owner pays for it", number(part.amount, FINE_SHOWN), _per(context, work), ""),
    ]


def _sum_steps(context: Context, work: HiddenComponent, cost: SectionCost, *, several: bool) -> list[WhyStep]:
    where = f" on section {cost.section}" if several else ""
    per, unit = _per(context, work), work.component.unit
    steps = [
        WhyStep(f"labour of one {unit}{where}", number(cost.labour, FINE_SHOWN), per, ""),
        WhyStep(f"material of one {unit}{where}", number(cost.material, FINE_SHOWN), per, ""),
    ]
    for repair in cost.repairs:
        if repair.sign > 0 and repair.set_up > 0:
            assembly = repair.assembly
            text = f"set-up of {assembly.name}{where}: {number(assembly.set_up_hours)} h of {assembly.set_up_trade}"
            rate = context.cost_base.trades[assembly.set_up_trade].edition.words()
            source = f"{edition_words(assembly.edition)}; {rate}"
            # A price and no amount yet: in a currency without decimals half an hour may come to half of one.
            steps.append(WhyStep(text, number(repair.set_up, FINE_SHOWN), f"{context.currency}/find", source))
    return steps


def _whole_steps(context: Context, work: HiddenComponent, costs: tuple[SectionCost, ...]) -> list[WhyStep]:
    per, steps = _per(context, work), []
    once = "set-up, charged once when anything is found"
    if work.exposure == 0:
        once = "no set-up is agreed, since nothing is exposed"
    elif len(costs) > 1:
        once += ": where it is dearest"
    steps.append(WhyStep(once, context.money(work.cost.set_up), context.currency, ""))
    text = "labour + material"
    if len(costs) > 1:
        text += ", the mean of the sections weighted by " + " and ".join(number(cost.weight) for cost in costs)
    steps.append(WhyStep(f"unit price: {text}, rounded to 6 decimals", _six(work.cost.price), per, ""))
    return steps


def _six(price: Decimal) -> str:
    return str(unit_price(price))
