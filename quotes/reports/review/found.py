"""How much of each hidden component was opened, and how much of it was found rotten?

From measurements of the opening record, not from what was billed: a repair that the owner declined still counts as found.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from costbase.calc.money import Currency, extend, split_quantity

Row = Mapping[str, Any]
Key = tuple[str, str]
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class FoundPart:
    """One component: exposure, what was opened and found (None where nothing was opened), and what was put right."""

    slug: str
    name: str
    construction: str
    tier: str
    unit: str
    exposure: Decimal
    unit_price: Decimal
    set_up: Decimal
    opened: Decimal
    found: Decimal | None
    repaired: Decimal

    @property
    def opened_share(self) -> Decimal:
        """What was opened of the exposure, six decimals, at most 1; 0 where nothing is exposed."""
        if not self.exposure:
            return ZERO
        opened = min(self.opened, self.exposure)
        return split_quantity(Decimal(1), [opened, self.exposure - opened], 6)[0]

    def measured(self, currency: Currency) -> Decimal:
        """Exposure x share found x unit price, and the set-up: what all of it comes to, were the rest like what was opened."""
        if not self.found or not self.opened:
            return ZERO
        whole = max(self.exposure, self.found)
        extent, _ = split_quantity(whole, [self.found, max(ZERO, self.opened - self.found)])
        return extend(extent, self.unit_price, currency) + self.set_up

    def done(self, currency: Currency) -> Decimal:
        """What was put right, at the agreed unit price, and the set-up."""
        return extend(self.repaired, self.unit_price, currency) + self.set_up if self.repaired else ZERO


def found_parts(components: Iterable[Row], openings: Sequence[Row], repaired: Mapping[Key, Decimal]) -> tuple[FoundPart, ...]:
    """What opening up says of each component of a job, in their order.

    Args:
        components: of the job.
        openings: its opening entries; one that another corrects does not count.
        repaired: extents that were put right, by component and construction.
    """
    gone = {row["corrects_id"] for row in openings}
    opened: dict[Key, Decimal] = {}
    found: dict[Key, Decimal] = {}
    for entry in openings:
        if entry["id"] in gone:
            continue
        for part in entry["measured"]:
            key = (part["component"], part["construction"])
            opened[key] = opened.get(key, ZERO) + Decimal(str(part["opened"]))
            found[key] = found.get(key, ZERO) + Decimal(str(part["found"]))
    return tuple(
        FoundPart(
            slug=row["slug"],
            name=row["name"],
            construction=row["construction"],
            tier=row["tier"],
            unit=row["unit"],
            exposure=row["exposure"],
            unit_price=row["unit_price"],
            set_up=row["set_up"],
            opened=opened.get(key, ZERO),
            found=found[key] if opened.get(key) else None,
            repaired=repaired.get(key, ZERO),
        )
        for row in components
        if (key := (row["slug"], row["construction"])) and (row["exposure"] or key in opened or key in repaired)
    )
