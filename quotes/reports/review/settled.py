"""What did the signed settlement of a stopped job leave of every line that was agreed or ordered?

Only a job that was stopped by a signature has this. One of a step that ended with the closing up consented to with the step has
no settlement; what it did not do is told by what was billed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from costbase.calc.cost_base import CostBase
from costbase.calc.money import split_quantity
from quotes.calc.variance import NotDone, Place, SoldLine, Step, Undone, added, undone
from quotes.models import Settlement
from quotes.reports.review.worked import ZERO, Work

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class LeftUndone:
    """Every line of a stopped job with what of it was not done, and the owner's steps from what was sold to what was paid."""

    lines: tuple[Undone, ...]
    steps: tuple[Step, ...]

    def of(self, place: Place) -> Undone | None:
        """What became of a line."""
        return next((line for line in self.lines if line.place == place), None)

    def not_done(self) -> tuple[NotDone, ...]:
        """The lines of which anything was not done, at quote prices and at standard cost."""
        return tuple(NotDone(line.name, line.gone, line.cost) for line in self.lines if line.gone or line.cost)


def left_undone(
    signed: Settlement, agreed: Sequence[Row], ordered: Sequence[Row], counted: Iterable[Row], drawn: Decimal,
    record: Decimal, base: CostBase,
) -> LeftUndone:  # fmt: skip
    """What a signed settlement left of the lines of a job.

    Args:
        signed: with its figures.
        agreed: lines of the job.
        ordered: lines of its accepted orders, with `number` and `position`.
        counted: settled counted work, with its lines.
        drawn: what found notes drew.
        record: what the shop's record adds to the visible work of an open quote; a settlement at quote prices asks for none.
        base: of the job.

    Raises:
        BridgeError: a line that was settled at more than it was sold for.
    """
    told = signed.figures["lines"]
    credits = _credits(counted)
    sold = [
        *(_sold(line, 0, credits.get(line["position"], ZERO)) for line in agreed),
        *(_sold(line, line["number"], ZERO) for line in ordered),
    ]
    paid = {
        (line["order"], line["position"]): Decimal(line["amount"]) for line in told if line["source"] in ("agreed", "order")
    }
    lines = undone(sold, paid, base.currency)
    steps = [Step(line.name, line.gone + line.settled, line.settled) for line in lines if line.gone]
    steps += [Step(line["name"], ZERO, Decimal(line["amount"])) for line in told if line["source"] in ("close_up", "storage")]
    draws = added(Decimal(line["amount"]) for line in told if line["source"] == "draw")
    steps += [Step("hidden work found", drawn, draws)] if draws != drawn else []
    steps += [Step("what this shop's record adds", record, ZERO)] if record else []
    return LeftUndone(lines, tuple(steps))


def _credits(counted: Iterable[Row]) -> dict[int, Decimal]:
    found: dict[int, Decimal] = {}
    for row in counted:
        for credit in row["lines"]:
            found[credit["position"]] = found.get(credit["position"], ZERO) + Decimal(credit["amount"])
    return found


def _sold(line: Row, order: int, counted: Decimal) -> SoldLine:
    return SoldLine((order, line["position"]), line["name"], line["amount"], line["cost"], counted)


def borne_out(counted: Sequence[Row], left: LeftUndone) -> list[Row]:
    """Settled counted work with its credits as far as the signed settlement bears them out."""
    open_ = {line.place[1]: line.counted for line in left.lines if line.place[0] == 0}
    found = []
    for row in counted:
        lines = []
        for credit in row["lines"]:
            amount = min(Decimal(credit["amount"]), open_[credit["position"]])
            open_[credit["position"]] -= amount
            lines.append({**credit, "amount": str(amount)})
        found.append({**row, "lines": lines, "credit": added(Decimal(line["amount"]) for line in lines)})
    return found


def take_off(less: Work, lines: Iterable[Row]) -> None:
    """Takes the hours and goods of what was not done off a standard; repairs are counted by their extent (`done_of`)."""
    for line in lines:
        gone: Undone | None = line["undone"]
        if gone is not None and gone.gone and line["kind"] != "repair":
            less.add_line({**line, "cost": gone.cost, "cost_part": gone.cost}, gone.part)


def done_of(line: Row) -> Decimal:
    """How much of a line was done, in its unit: all of it but for what a stopped job left."""
    gone: Undone | None = line["undone"]
    whole: Decimal = line["quantity"]
    return whole if gone is None or not gone.gone else whole - split_quantity(whole, [gone.part, 1 - gone.part])[0]


def cost_of(line: Row) -> Decimal:
    """What the part of a line that was done should cost."""
    gone: Undone | None = line["undone"]
    whole: Decimal = line["cost"]
    return whole if gone is None else whole - gone.cost
