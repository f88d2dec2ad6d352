"""Whose is a line, a piece of a line, or a hidden component, once the work goes on?

The same rules as in the quote, asked one thing at a time: a draw goes by the rule of its component, what counted work is
settled down by goes to who pays for the assembly in that line.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from quotes.calc.payers.figures import Charge, Figures
from quotes.calc.payers.parties import Payer, Rule, check_parties, with_owner
from quotes.calc.payers.shares import Assigner, charge_parts

ByPayer = Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class Whose:
    """The payers' parts of a job. `lines` has each line's amount by payer, by position; the parts add up to the line."""

    figures: Figures
    payers: tuple[Payer, ...]
    lines: Mapping[int, ByPayer]
    _assigner: Assigner

    def of_component(self, position: int) -> ByPayer:
        """By what weights a draw on a hidden component is shared out; empty where no component has that position."""
        hidden = next((one for one in self.figures.hidden if one.position == position), None)
        return _by_payer(self._assigner.weights(hidden).by_key) if hidden else {}

    def of_assembly(self, position: int, assembly: str) -> ByPayer:
        """By what weights an assembly's piece of a line is shared out; as the line is where it has no such piece."""
        charge = self._charge(position)
        portions = tuple(portion for portion in charge.portions if portion.assembly == assembly)
        if not portions:
            return self.lines[position]
        return _by_payer(self._assigner.weights(replace(charge, portions=portions)).by_key)

    def _charge(self, position: int) -> Charge:
        return next(charge for charge in self.figures.charges if charge.position == position)


def whose(figures: Figures, payers: Sequence[Payer], rules: Sequence[Rule]) -> Whose:
    """Whose each line is, by the rules of the quote.

    Args:
        figures: the agreed lines and components; their amounts are rounded.
        payers: as written down; the owner need not stand among them.
        rules: the first that fits decides.

    Raises:
        PayerError, CalculationFaults: payers or rules that contradict themselves.
    """
    check_parties(payers, rules)
    parties = with_owner(payers)
    assigner = Assigner(rules, [payer.label for payer in parties])
    lines: dict[int, dict[str, Decimal]] = {charge.position: {} for charge in figures.charges}
    for part in charge_parts(figures, assigner):
        of_line = lines[part.charge.position]
        of_line[part.payer] = of_line.get(part.payer, Decimal(0)) + part.amount
    return Whose(figures, parties, lines, assigner)


def _by_payer(by_key: Mapping[tuple[str, str], Decimal]) -> dict[str, Decimal]:
    sums: dict[str, Decimal] = {}
    for (payer, _), weight in by_key.items():
        sums[payer] = sums.get(payer, Decimal(0)) + weight
    return sums
