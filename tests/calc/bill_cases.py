"""The small roof of DEVELOPERS.md section 1 as a job, and what happens to it, for tests of bills."""

from collections.abc import Sequence
from decimal import Decimal

from costbase.calc.money import currency
from quotes.calc.bill import (
    CountedCredit,
    Draw,
    FurtherLine,
    Item,
    Terms,
    agreed_items,
    counted_items,
    draw_items,
    further_items,
)
from quotes.calc.payers import Charge, Figures, Hidden, Payer, Portion, Rule, Whose, whose
from tests.scenarios.small_roof import quoted, rule

USD = currency("USD")


def amount(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


def figures() -> Figures:
    """Its agreed lines and its one hidden component, as their rows would be read."""
    quote = quoted()
    charges: list[Charge] = []
    for labour in quote.visible.labour:
        portion = Portion(labour.assembly, labour.phase, "", Decimal(1))
        charges.append(
            Charge(
                len(charges) + 1, "labour", labour.assembly, labour.trade, labour.name, labour.phase, "labour", labour.hours,
                "h", labour.amount, (portion,),
            )
        )  # fmt: skip
    for goods in quote.visible.materials:
        slug = goods.packed.material.slug
        portions = tuple(Portion(part.assembly, goods.phase, "", Decimal(str(part.net))) for part in goods.parts)
        charges.append(
            Charge(
                len(charges) + 1, "material", slug, "", slug, goods.phase, "parts", goods.packed.billed, "pack", goods.amount,
                portions,
            )
        )  # fmt: skip
    for line in quote.visible.shop:
        charges.append(
            Charge(
                len(charges) + 1, "shop", line.slug, "", line.name, "", line.tax_class, Decimal(1), "job", line.amount, ()
            )
        )  # fmt: skip
    totals = quote.totals
    hidden = (Hidden(1, "opening_frame", "Frame", totals.allowance, amount("137.71"), (Portion("", "", "", Decimal(1)),)),)
    return Figures(
        tuple(charges), hidden, "parts_and_labour", totals.base, totals.base_taxes, totals.base_rounding, totals.base_with_tax,
        totals.record, totals.contingency, totals.limit, totals.limit_taxes, totals.limit_rounding, totals.limit_with_tax, USD,
    )  # fmt: skip


def roof(payers: Sequence[Payer] = (), rules: Sequence[Rule] = ()) -> Whose:
    return whose(figures(), payers, rules)


def terms(authorised_with_tax: str = "4248.00", carried: str = "0") -> Terms:
    return Terms(rule(), USD, amount(authorised_with_tax), amount(carried))


# Step 11: 87.71 for the frame, of which 7.71 is the strip (0.08791... of the unit price, rounded down), and 50.00 once.
FRAME = Draw(1, 1, "Frame at a vent", amount("137.71"), amount("7.71"), Decimal(1), "each", Decimal("87.711200"))
# Step 12: two hours, a pack of adhesive, overhead.
PATCH = (
    FurtherLine(1, 1, "Glue a patch", "labour", "skin", "labour", amount("200.00"), Decimal(2), "h", Decimal(100), "owner"),
    FurtherLine(1, 2, "adhesive", "material", "skin", "parts", amount("72.90"), Decimal(1), "pack", Decimal("72.9"), "owner"),
    FurtherLine(1, 3, "Overhead", "shop", "", "labour", amount("21.83"), Decimal(1), "job", Decimal("21.83"), "owner"),
)


def items(
    of: Whose,
    draws: Sequence[Draw] = (FRAME,),
    orders: Sequence[FurtherLine] = PATCH,
    counted: Sequence[CountedCredit] = (),
) -> tuple[Item, ...]:
    return (*agreed_items(of), *counted_items(counted, of), *draw_items(draws, of), *further_items(orders))
