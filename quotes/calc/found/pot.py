"""What does hidden work that was found take of the pot, and what is then left?

There is one pot for all components. What each component has left of its own allowance is told, and binds nobody. A draw is
never cut down to what is left: it fits, or it is a change order.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType

from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, extend, share_down

_NONE = Decimal(0)


class NoAgreedPriceError(CalculationError):
    """Hidden work in a component for which no unit price was agreed."""

    code = "no_agreed_price"


class BadFoundExtentError(CalculationError):
    """An extent of nothing, or less."""

    code = "bad_found_extent"


class MoreThanExposedError(CalculationError):
    """More of a component than the agreed scope exposes and earlier notes have left."""

    code = "more_than_exposed"

    def __init__(self, message: str, *, left: Decimal, wanted: Decimal) -> None:
        super().__init__(message, field="extent", value=str(wanted))
        self.left, self.wanted = left, wanted


class PotPassedError(CalculationError):
    """A draw of more than the pot holds."""

    code = "pot_passed"

    def __init__(self, message: str, *, left: Decimal, wanted: Decimal) -> None:
        super().__init__(message, field="extent", value=str(wanted))
        self.left, self.wanted = left, wanted


@dataclass(frozen=True, slots=True)
class AgreedComponent:
    """A hidden component as agreed: extents in its unit, prices for one unit, `set_up` and `allowance` in the currency."""

    slug: str
    construction: str
    unit: str
    exposure: Decimal
    unit_price: Decimal
    set_up: Decimal
    labour_part: Decimal
    material_part: Decimal
    allowance: Decimal
    assemblies: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Drawn:
    """What was drawn for a component, corrections counted: extent in its unit, amounts in the currency."""

    extent: Decimal = _NONE
    set_up: Decimal = _NONE
    amount: Decimal = _NONE

    def with_(self, draw: "Draw") -> "Drawn":
        """This with one more draw."""
        return Drawn(self.extent + draw.extent, self.set_up + draw.set_up, self.amount + draw.amount)


@dataclass(frozen=True, slots=True)
class Draw:
    """One draw: `amount` is work and set-up, `material` the part of it that is parts for tax; all negative in a correction."""

    slug: str
    construction: str
    extent: Decimal
    work: Decimal
    set_up: Decimal
    material: Decimal

    @property
    def amount(self) -> Decimal:
        """What it takes of the pot."""
        return self.work + self.set_up

    def back(self) -> "Draw":
        """The draw that takes this one back."""
        return Draw(self.slug, self.construction, -self.extent, -self.work, -self.set_up, -self.material)


@dataclass(frozen=True, slots=True)
class Pot:
    """The pot of a job, and what was drawn of it by component and construction.

    `ordered` are components whose set-up a change order has charged: it is charged once, by whichever comes first.
    """

    contingency: Decimal
    drawn: Mapping[tuple[str, str], Drawn] = field(default_factory=lambda: MappingProxyType({}))
    ordered: frozenset[str] = frozenset()

    @property
    def taken(self) -> Decimal:
        """All draws together."""
        return sum((own.amount for own in self.drawn.values()), _NONE)

    @property
    def left(self) -> Decimal:
        """What the pot still holds."""
        return self.contingency - self.taken

    def of(self, component: AgreedComponent) -> Drawn:
        """What was drawn for a component on its construction."""
        return self.drawn.get((component.slug, component.construction), Drawn())

    def set_up_drawn(self, slug: str) -> bool:
        """Whether the set-up of a component is charged, on whatever construction."""
        drawn = sum((own.set_up for (name, _), own in self.drawn.items() if name == slug), _NONE)
        return slug in self.ordered or drawn > 0

    def after(self, draw: Draw) -> "Pot":
        """The pot after a draw that was worked out on it."""
        key = (draw.slug, draw.construction)
        drawn = MappingProxyType({**self.drawn, key: self.drawn.get(key, Drawn()).with_(draw)})
        return Pot(self.contingency, drawn, self.ordered)


def draw(pot: Pot, component: AgreedComponent, extent: Decimal, currency: Currency) -> Draw:
    """What an extent of hidden work draws: extent x unit price, rounded, and the set-up where none is charged yet.

    Args:
        pot: as earlier notes left it.
        component: as agreed.
        extent: found, in the component's unit, four decimals at most.
        currency: of the job.

    Returns:
        The draw; its part that is parts for tax is the material's share of the work, rounded down, so that all draws together
        never pass what the limit's tax was worked on.

    Raises:
        BadFoundExtentError: an extent of 0 or less.
        NoAgreedPriceError: nothing was agreed for one unit.
        MoreThanExposedError: the extent passes what is left of the exposure.
        PotPassedError: the draw passes what is left of the pot.
    """
    if extent <= 0:
        raise BadFoundExtentError("expected an extent above 0", field="extent", value=str(extent))
    if component.unit_price <= 0:
        words = f"no price was agreed for {component.slug}: expected a change order"
        raise NoAgreedPriceError(words, field="component", value=component.slug)
    exposed = component.exposure - pot.of(component).extent
    if extent > exposed:
        words = (
            f"{extent} {component.unit} of {component.slug} is more than the {exposed} {component.unit} that the agreed scope"
        )
        raise MoreThanExposedError(f"{words} leaves exposed: expected a change order", left=exposed, wanted=extent)
    worked = work_of(component, extent, with_set_up=not pot.set_up_drawn(component.slug), currency=currency)
    if worked.amount > pot.left:
        words = f"this draws {worked.amount} and the pot holds {pot.left}: expected a change order for what passes it"
        raise PotPassedError(words, left=pot.left, wanted=worked.amount)
    return worked


def work_of(component: AgreedComponent, extent: Decimal, *, with_set_up: bool, currency: Currency) -> Draw:
    """The draw of an extent whatever the pot holds; as `draw` works it out."""
    work = extend(extent, component.unit_price, currency)
    return Draw(
        slug=component.slug,
        construction=component.construction,
        extent=extent,
        work=work,
        set_up=component.set_up if with_set_up else _NONE,
        material=share_down(work, share_of_parts(component), currency),
    )


def share_of_parts(component: AgreedComponent) -> Decimal:
    """The share of a draw's work that is parts, 0 to 1."""
    whole = component.labour_part + component.material_part
    if whole <= 0:
        return _NONE
    return max(_NONE, min(Decimal(1), component.material_part / whole))


def left_by_component(pot: Pot, components: Iterable[AgreedComponent]) -> tuple[tuple[str, str, Decimal], ...]:
    """Slug, construction, and allowance less draws of each component: information, below 0 where it used others' share."""
    return tuple((one.slug, one.construction, one.allowance - pot.of(one).amount) for one in components)
