"""What may a credit note take back?

It names a bill and lines of it, and takes back no more of a line than this payer was billed for it and has not had back yet.
Goodwill takes off an amount for a reason that is no line's; it lowers the payer's own part and never a deductible, which is
between the owner and the insurer.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, largest_remainder
from quotes.calc.bill.items import CREDIT, GOODWILL, Item, net, whole
from quotes.calc.tax import TAX_CLASSES


class CreditError(CalculationError):
    """A credit of more than was billed, of a line that the bill has not, or of nothing."""

    code = "bad_credit"


def left_to_credit(items: Sequence[Item], payer: str) -> dict[str, Decimal]:
    """What of each line of a payer could still be taken back: its part, less what was taken back of it; above 0 only.

    Args:
        items: of the payer's last bill, credits included.
        payer: label of the payer.
    """
    left: dict[str, Decimal] = {}
    for item in items:
        key = item.of or item.key
        left[key] = left.get(key, Decimal(0)) + item.part(payer)
    return {key: amount for key, amount in left.items() if amount > 0}


def credit_items(
    items: Sequence[Item], payer: str, back: Mapping[str, Decimal | None], number: str, reason: str
) -> tuple[Item, ...]:
    """The items of a credit note.

    Args:
        items: of the payer's last bill, credits included.
        payer: label of the payer.
        back: by key of a line, what is taken back of it without tax; None for all that is left.
        number: of the credit note, for the keys.
        reason: for people.

    Raises:
        CreditError: a line that was not billed to this payer, or more than is left of it, or nothing.
    """
    left, by_key = left_to_credit(items, payer), {item.key: item for item in items}
    if not back:
        raise CreditError("expected at least one line to take back", field="lines")
    found = []
    for at, (key, asked) in enumerate(back.items()):
        if key not in left:
            words = f"expected a line that was billed to {payer} and was not taken back yet, not {key!r}"
            raise CreditError(words, field=f"lines/{at}/key", value=key)
        amount = left[key] if asked is None else asked
        if not Decimal(0) < amount <= left[key]:
            words = f"expected more than 0 and no more than {left[key]} to be taken back of {key}, not {amount}"
            raise CreditError(words, field=f"lines/{at}/amount", value=amount)
        line = by_key[key]
        found.append(
            Item(
                key=f"credit:{number}:{key}",
                source=CREDIT,
                name=line.name,
                tax_class=line.tax_class,
                amount=-amount,
                parts=whole(-amount, payer),
                price=-amount,
                of=key,
                words=reason,
            )
        )
    own, asked_for = sum((item.part(payer) for item in items), Decimal(0)), -net(found)
    if asked_for > own:
        # Goodwill and what was cut at the limit stand against no line, and are not paid out a second time.
        raise CreditError(f"expected no more than the {own} that {payer} was billed, not {asked_for}", field="lines")
    return tuple(found)


def goodwill_items(
    items: Sequence[Item], payer: str, amount: Decimal, number: str, reason: str, currency: Currency
) -> tuple[Item, ...]:
    """An amount off for goodwill, by tax class as the payer's own lines are.

    Args:
        items: of the payer's last bill, credits included.
        payer: label of the payer.
        amount: without tax, above 0.
        number: of the credit note, for the keys.
        reason: must say why; it stands on the paper.
        currency: of the amount.

    Raises:
        CreditError: no reason, or more than the payer's own lines come to; a deductible is no line of his.
    """
    classes = {
        name: max(Decimal(0), sum((item.part(payer) for item in items if item.tax_class == name), Decimal(0)))
        for name in TAX_CLASSES
    }
    own = min(sum(classes.values(), Decimal(0)), sum((item.part(payer) for item in items), Decimal(0)))
    if not reason.strip():
        raise CreditError("expected a reason for goodwill; it stands on the paper", field="reason")
    if not Decimal(0) < amount <= own:
        words = f"expected more than 0 and no more than {own}, which {payer}'s own lines come to, not {amount}"
        raise CreditError(words, field="goodwill", value=amount)
    parts = largest_remainder(amount, list(classes.values()), currency)
    return tuple(
        Item(
            key=f"goodwill:{number}:{name}",
            source=GOODWILL,
            name="Goodwill",
            tax_class=name,
            amount=-part,
            parts=whole(-part, payer),
            price=-part,
            words=reason,
        )
        for name, part in zip(classes, parts, strict=True)
        if part
    )
