"""Who pays which part of a line or of a hidden component, worked out slowly and exactly, in fractions and without rounding."""

from collections.abc import Sequence
from fractions import Fraction

from quotes.calc.payers import Charge, Figures, Hidden, Portion, Rule

Parts = dict[tuple[str, str], Fraction]


def gives(rule: Rule, thing: Charge | Hidden, portion: Portion) -> bool:
    """Whether a rule speaks of a portion, said once more from its meaning."""
    trade = thing.trade if isinstance(thing, Charge) else ""
    if rule.by == "everything":
        return True
    if rule.by == "section":
        return portion.section == rule.of
    if rule.by == "component":
        return isinstance(thing, Hidden) and thing.slug == rule.of
    if not isinstance(thing, Charge):
        return False
    if rule.by == "phase":
        return portion.phase == rule.of
    named = portion.assembly if rule.by == "assembly" else thing.slug
    return named == rule.of and (not rule.trade or rule.trade == trade)


def exact_parts(thing: Charge | Hidden, amount: Fraction, rules: Sequence[Rule]) -> Parts:
    """The parts of a thing that has portions, by payer and cause."""
    weights = [Fraction(portion.weight) for portion in thing.portions]
    if not sum(weights):
        weights = [Fraction(1)] * len(weights)
    parts: Parts = {}
    for portion, weight in zip(thing.portions, weights, strict=True):
        giving = next((rule for rule in rules if gives(rule, thing, portion)), None)
        key = (giving.payer, giving.cause) if giving else ("owner", "not-said")
        parts[key] = parts.get(key, Fraction(0)) + amount * weight / sum(weights)
    return parts


def exact_lines(figures: Figures, rules: Sequence[Rule]) -> dict[int, Parts]:
    """The exact parts of every line of labour and material, by its position."""
    lines = [charge for charge in figures.charges if charge.portions]
    return {charge.position: exact_parts(charge, Fraction(charge.amount), rules) for charge in lines}
