"""How does the bill come from what the owner signed, at quote prices?

Visible work as agreed, counted work as settled, draws on what was set aside by component, orders beyond it by their cause, the
owner's own wishes, credits, tax, and the owner's rounding. It ends at the bill, exactly: every figure is a rounded amount.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from quotes.calc.variance.steps import Bridge, BridgeError, Cause, Step, added, bridge

WITHIN_ALLOWANCE, WITHIN_SET_ASIDE = "within_allowance", "within_set_aside"
AS_LOGGED, STOPPED, CUT, CREDITS = "as_logged", "stopped", "cut_to_authorised", "credits"
COUNTED_LESS, TAX, ROUNDING = "counted_less", "tax", "rounding"
ORDERS = {
    "beyond_pot": "hidden work beyond what was set aside",
    "no_agreed_price": "hidden work without an agreed price",
    "counted_beyond": "counted work beyond the quoted quantity",
    "owner_wish": "what the owner wished",
    "other": "other orders",
    "stop": "the settlement of a stopped job",
}
STEPS = (COUNTED_LESS, WITHIN_ALLOWANCE, WITHIN_SET_ASIDE, *ORDERS, AS_LOGGED, STOPPED, CUT, CREDITS, TAX, ROUNDING)


@dataclass(frozen=True, slots=True)
class Drawn:
    """What found notes drew for one component, and what was expected of it."""

    name: str
    allowance: Decimal
    drawn: Decimal


@dataclass(frozen=True, slots=True)
class Ordered:
    """An accepted order: its cause (one of `ORDERS`), title and amount ex tax."""

    cause: str
    title: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class OwnerFigures:
    """What the bill is made of, ex tax unless named otherwise.

    `visible` is the visible work as agreed; `counted` what counted work came to less (0 or more); `credits` what was credited
    for other reasons (0 or more). `billed` is ex tax, `tax` and `rounding` are the bill's, `billed_with_tax` = their sum.
    `basis` is "firm" or "open"; in an open quote, and where the job was `stopped`, the bill goes by what was done. `cut` is
    what was logged beyond the limit of an open quote and not billed (0 or more). `settled` are the lines of the signed
    settlement that stand otherwise than they were sold, or were not sold before; None where a stopped job has none, as one of a
    step that was closed up.
    """

    visible: Decimal
    counted: Decimal
    drawn: tuple[Drawn, ...]
    orders: tuple[Ordered, ...]
    credits: Decimal
    billed: Decimal
    tax: Decimal
    rounding: Decimal
    billed_with_tax: Decimal
    basis: str
    stopped: bool
    cut: Decimal = Decimal(0)
    settled: tuple[Step, ...] | None = None


def owner_bridge(figures: OwnerFigures) -> Bridge:
    """From the visible work as agreed to the bill with tax. Causes that come to nothing are left out.

    A draw of a component up to its part of the allowance is within the allowance; what is more is within what was set aside.
    What a firm bill comes to less than all of it, or the bill of a stopped job less than its settlement, was cut to what was
    authorised; it cannot come to more.

    Raises:
        BridgeError: an order of an unknown cause, a bill above what was agreed, drawn, ordered or settled, or a bill whose
            parts do not add up.
    """
    causes = [cause for cause in _causes(figures) if cause.amount or any(step.amount for step in cause.steps)]
    return bridge(figures.visible, causes, figures.billed_with_tax)


def _causes(figures: OwnerFigures) -> Iterator[Cause]:
    yield _one(COUNTED_LESS, "Counted work that came to less", Decimal(0), -figures.counted)
    yield Cause(WITHIN_ALLOWANCE, "Hidden work, as expected", tuple(_draws(figures.drawn, within=True)))
    yield Cause(WITHIN_SET_ASIDE, "Hidden work within what was set aside", tuple(_draws(figures.drawn, within=False)))
    for order in figures.orders:
        if order.cause not in ORDERS:
            raise BridgeError(f"expected a cause that is one of {', '.join(ORDERS)}", field="orders", value=order.cause)
    for cause, words in ORDERS.items():
        of_cause = [Step(order.title, Decimal(0), order.amount) for order in figures.orders if order.cause == cause]
        yield Cause(cause, words[0].upper() + words[1:], tuple(of_cause))
    yield _one(CREDITS, "Credits", Decimal(0), -figures.credits)
    yield from _as_billed(figures)
    yield _one(TAX, "Tax", Decimal(0), figures.tax)
    yield _one(ROUNDING, "Rounding of the total", Decimal(0), figures.rounding)


def _draws(drawn: Sequence[Drawn], *, within: bool) -> Iterator[Step]:
    for part in drawn:
        expected = min(part.drawn, part.allowance)
        amount = expected if within else part.drawn - expected
        if amount:
            yield Step(part.name, Decimal(0), amount)


def _as_billed(figures: OwnerFigures) -> Iterator[Cause]:
    """What the bill differs by from all that was agreed, drawn, ordered and credited."""
    known = figures.visible - figures.counted - figures.credits
    known += added(part.drawn for part in figures.drawn) + added(order.amount for order in figures.orders)
    if figures.stopped and figures.settled is None:
        yield _one(STOPPED, "Work as far as it went when the job stopped", known, figures.billed)
        return
    if figures.stopped:
        settled = Cause(STOPPED, "Work as far as it went when the job stopped", figures.settled or ())
        yield settled
        known += settled.amount
    elif figures.basis == "open":
        logged = figures.billed + figures.cut
        yield _one(AS_LOGGED, "Hours and goods as logged", known, logged)
        known = logged
    if figures.billed > known:
        raise BridgeError(f"expected a bill of at most {known} before tax, not {figures.billed}", value=figures.billed)
    yield _one(CUT, "Cut to what was authorised", known, figures.billed)


def _one(slug: str, name: str, before: Decimal, after: Decimal) -> Cause:
    return Cause(slug, name, (Step(name, before, after),))
