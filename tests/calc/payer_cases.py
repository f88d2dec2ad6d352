"""An invented quote of six lines and two hidden components that several payers share."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from costbase.calc.money import currency
from quotes.calc.payers import Charge, Figures, Hidden, Payer, Rule, Share, Split, section_portions
from quotes.calc.tax import Tax

D = Decimal
USD = currency("USD")
RATE = D("0.0825")
BOTH = (("main", D("0.75")), ("over cab", D("0.25")))
MAIN = (("main", D(1)),)


def labour(position: int, assembly: str, phase: str, hours: str, amount: str, sections: Any = MAIN, **changes: Any) -> Charge:
    portions = section_portions(assembly, phase, D(1), sections)
    line = Charge(position, "labour", assembly, "technician", assembly, phase, "labour", D(hours), "h", D(amount), portions)
    return replace(line, **changes)


def material(position: int, slug: str, quantity: str, amount: str, *parts: tuple[str, str, str, Any]) -> Charge:
    """A material line; each part is assembly, phase, net need and sections."""
    portions = tuple(p for slug_, phase, net, where in parts for p in section_portions(slug_, phase, D(net), where))
    return Charge(position, "material", slug, "", slug, parts[0][1], "parts", D(quantity), "roll", D(amount), portions)


def of_shop(position: int, slug: str, amount: str, tax_class: str) -> Charge:
    return Charge(position, "shop", slug, "", slug, "", tax_class, D(1), "job", D(amount), ())


def hidden(position: int, slug: str, allowance: str, whole: str, sections: Any = MAIN) -> Hidden:
    return Hidden(position, slug, slug, D(allowance), D(whole), section_portions("", "", D(1), sections))


LINES = (
    labour(1, "skin-off", "strip", "10.0000", "1000.00", BOTH),
    labour(2, "membrane-on", "skin", "8.0000", "800.00"),
    material(3, "membrane", "4", "500.00", ("membrane-on", "skin", "30", MAIN), ("cap-reseal", "seal", "10", MAIN)),
    labour(4, "cap-reseal", "seal", "3.0002", "180.01"),
    of_shop(5, "shop-supplies", "60.00", "parts"),
    # 8 % of 1000.00 + 800.00 + 500.00 + 180.01 + 60.00 = 2540.01.
    of_shop(6, "overhead", "203.20", "labour"),
)
HIDDEN = (hidden(1, "deck", "30.00", "400.00"), hidden(2, "edge", "11.32", "90.00"))


def taxes(base: str, amount: str, rate: Decimal = RATE) -> tuple[Tax, ...]:
    return (Tax("State", rate, D(base), D(amount)),)


def figures(**changes: Any) -> Figures:
    """The quote: lines 2743.21, tax 226.31 (226.3148), rounding to whole units; limit 2880.92, tax 237.68 (237.6759)."""
    plain = Figures(
        charges=LINES,
        hidden=HIDDEN,
        tax_mode="parts_and_labour",
        base=D("2743.21"),
        base_taxes=taxes("2743.21", "226.31"),
        base_rounding=D("0.48"),
        base_with_tax=D("2970.00"),
        record=D("0.00"),
        contingency=D("137.71"),
        limit=D("2880.92"),
        limit_taxes=taxes("2880.92", "237.68"),
        limit_rounding=D("0.40"),
        limit_with_tax=D("3119.00"),
        currency=USD,
    )
    return replace(plain, **changes)


INSURER = Payer("insurer", "insurer", D("250.00"))
WARRANTY = Payer("warranty", "warranty")


def rule(by: str, of: str, payer: str, cause: str = "storm", trade: str = "") -> Rule:
    return Rule(by, of, trade, payer, cause)


RULES = (
    rule("section", "over cab", "insurer"),
    rule("assembly", "cap-reseal", "warranty", "earlier-repair"),
    rule("component", "deck", "insurer"),
)


def share(split: Split, label: str) -> Share:
    (found,) = [share for share in split.shares if share.payer.label == label]
    return found


def parts(split: Split, label: str) -> list[str]:
    """A payer's parts of lines as text."""
    return [
        f"{part.charge.slug} {part.quantity} {part.charge.unit} {part.amount} {part.cause}"
        for part in share(split, label).charges
    ]
