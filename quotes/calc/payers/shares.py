"""Which part of every line and of every hidden component is whose?

A labour line is split by its assembly's driver in the sections, a material line by the net needs of assemblies and sections;
lines of the shop follow the amounts that payers have of the others. Every split is by largest remainder, so that the parts of a
line add up to the line.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.money import Currency, largest_remainder, split_quantity
from quotes.calc.payers.figures import Charge, Figures, Hidden, Portion
from quotes.calc.payers.parties import NOT_SAID, OWNER, Rule

# A payer and a cause; what is given to both by several rules stands together.
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class ChargePart:
    """A payer's part of a line. `rules` are the positions, from 1, of the rules that gave it; none for the rest."""

    charge: Charge
    payer: str
    cause: str
    quantity: Decimal
    amount: Decimal
    rules: tuple[int, ...]
    whole: bool


@dataclass(frozen=True, slots=True)
class HiddenShare:
    """A payer's part of a hidden component: of its allowance, and of the contingency."""

    hidden: Hidden
    payer: str
    cause: str
    allowance: Decimal
    contingency: Decimal
    rules: tuple[int, ...]
    whole: bool


@dataclass(slots=True)
class _Weights:
    """What falls on each payer and cause, with the rules that gave it."""

    by_key: dict[Key, Decimal]
    rules: dict[Key, list[int]]


class Assigner:
    """Applies the rules of a quote, and remembers which of them spoke of anything and which decided anything."""

    def __init__(self, rules: Sequence[Rule], payers: Sequence[str]) -> None:
        self.rules = tuple(rules)
        self.order = {label: at for at, label in enumerate(payers)}
        self._about: dict[tuple[str, str], list[int]] = {}
        for at, rule in enumerate(self.rules):
            self._about.setdefault((rule.by, rule.of), []).append(at)
        self.spoke: set[int] = set()
        self.decided: set[int] = set()

    def weights(self, subject: Charge | Hidden) -> _Weights:
        """The weights of a line's or component's portions by payer and cause, in the payers' order."""
        weights = _Weights({}, {})
        plain = not any(portion.weight for portion in subject.portions)
        for portion in subject.portions:
            at = self._first(subject, portion)
            rule = self.rules[at] if at is not None else None
            key = (rule.payer, rule.cause) if rule else (OWNER, NOT_SAID)
            # Where nothing says how much is whose, the portions count alike.
            weight = Decimal(1) if plain else portion.weight
            weights.by_key[key] = weights.by_key.get(key, Decimal(0)) + weight
            if at is not None and at + 1 not in weights.rules.setdefault(key, []):
                weights.rules[key].append(at + 1)
        weights.by_key = {key: weights.by_key[key] for key in sorted(weights.by_key, key=self.order_of)}
        return weights

    def line_rule(self, charge: Charge) -> int | None:
        """The rule that gives a line of the shop to somebody as a whole, counted from 0."""
        found = [at for at in self._about.get(("line", charge.slug), ()) if self.rules[at].trade in ("", charge.trade)]
        self._note(found)
        return found[0] if found else None

    def warnings(self) -> tuple[str, ...]:
        """Rules that speak of nothing in this quote, or decide nothing since earlier ones did."""
        words = []
        for at, rule in enumerate(self.rules):
            if at not in self.spoke:
                words.append(f"rule {at + 1} ({rule.words()}) speaks of nothing in this quote; it is kept, and gives nothing")
            elif at not in self.decided:
                words.append(f"rule {at + 1} ({rule.words()}) gives nothing: earlier rules have given all that it speaks of")
        return tuple(words)

    def order_of(self, key: Key) -> tuple[int, str]:
        """Where a payer and a cause stand among others."""
        return self.order[key[0]], key[1]

    def _first(self, subject: Charge | Hidden, portion: Portion) -> int | None:
        spoken_of = [("everything", ""), ("section", portion.section)]
        if isinstance(subject, Hidden):
            spoken_of.append(("component", subject.slug))
            trade = ""
        else:
            spoken_of += [("assembly", portion.assembly), ("phase", portion.phase), ("line", subject.slug)]
            trade = subject.trade
        # Goods have no trade: a rule about one trade's hours leaves them to others.
        found = sorted(at for key in spoken_of for at in self._about.get(key, ()) if self.rules[at].trade in ("", trade))
        self._note(found)
        return found[0] if found else None

    def _note(self, found: Sequence[int]) -> None:
        self.spoke.update(found)
        self.decided.update(found[:1])


def charge_parts(figures: Figures, assigner: Assigner) -> tuple[ChargePart, ...]:
    """Every payer's part of every line, in the order of the quote and then of the payers."""
    direct = [part for charge in figures.charges if charge.portions for part in _parts(charge, figures.currency, assigner)]
    by_key: dict[Key, Decimal] = {}
    for part in direct:
        key = (part.payer, part.cause)
        by_key[key] = by_key.get(key, Decimal(0)) + part.amount
    shares = {key: by_key[key] for key in sorted(by_key, key=assigner.order_of) if by_key[key] > 0}
    shared = [
        part
        for charge in figures.charges
        if not charge.portions
        for part in _shared(charge, shares, figures.currency, assigner)
    ]
    return tuple(sorted([*direct, *shared], key=lambda part: (part.charge.position, assigner.order[part.payer], part.cause)))


def _parts(charge: Charge, currency: Currency, assigner: Assigner) -> list[ChargePart]:
    weights = assigner.weights(charge)
    return _split(charge, weights.by_key, weights.rules, currency)


def _shared(charge: Charge, shares: dict[Key, Decimal], currency: Currency, assigner: Assigner) -> list[ChargePart]:
    at = assigner.line_rule(charge)
    if at is not None:
        rule = assigner.rules[at]
        return _split(charge, {(rule.payer, rule.cause): Decimal(1)}, {(rule.payer, rule.cause): [at + 1]}, currency)
    return _split(charge, shares or {(OWNER, NOT_SAID): Decimal(1)}, {}, currency)


def _split(charge: Charge, by_key: dict[Key, Decimal], rules: dict[Key, list[int]], currency: Currency) -> list[ChargePart]:
    parts = list(by_key.values())
    amounts, quantities = largest_remainder(charge.amount, parts, currency), split_quantity(charge.quantity, parts)
    return [
        ChargePart(charge, payer, cause, quantity, amount, tuple(rules.get((payer, cause), ())), whole=len(by_key) == 1)
        for (payer, cause), amount, quantity in zip(by_key, amounts, quantities, strict=True)
    ]


def hidden_shares(figures: Figures, assigner: Assigner) -> tuple[HiddenShare, ...]:
    """Every payer's part of every hidden component, and with it of the contingency.

    The contingency follows the allowances. Where all of those round to nothing it follows what the components would cost if all
    of them were found, and where nothing is hidden (an open price sets aside for its own doubt) there are no shares here: what
    is left is shared by the visible work.
    """
    parts = [part for hidden in figures.hidden for part in _hidden_parts(hidden, assigner, figures.currency)]
    weights = [share.allowance for share, _ in parts]
    if not any(weights):
        weights = [whole for _, whole in parts]
    if not any(weights):
        return tuple(share for share, _ in parts)
    contingencies = largest_remainder(figures.contingency, weights, figures.currency)
    return tuple(replace(share, contingency=contingency) for (share, _), contingency in zip(parts, contingencies, strict=True))


def _hidden_parts(hidden: Hidden, assigner: Assigner, currency: Currency) -> list[tuple[HiddenShare, Decimal]]:
    """The shares of one component, without the contingency, each with its part of what all of it would cost."""
    weights = assigner.weights(hidden)
    parts = list(weights.by_key.values())
    allowances = largest_remainder(hidden.allowance, parts, currency)
    wholes = largest_remainder(hidden.whole, parts, currency)
    return [
        (HiddenShare(hidden, *key, allowance, Decimal(0), tuple(weights.rules.get(key, ())), len(parts) == 1), whole)
        for key, allowance, whole in zip(weights.by_key, allowances, wholes, strict=True)
    ]
