"""What is counted work settled at when less, or more, of it was done than quoted?

Less is billed less, line by line at the unit prices that the quote keeps; set-ups stay. More is never a silent rise: it draws
the pot as hidden work of a component that the assembly repairs, or is a change order.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, extend
from quotes.calc.found.pot import AgreedComponent

_NONE = Decimal(0)


class NotCountedError(CalculationError):
    """The job has no counted work of that name."""

    code = "not_counted"


class CountedBeyondError(CalculationError):
    """More was done of counted work than was quoted and noted as hidden work."""

    code = "counted_beyond"

    def __init__(self, message: str, *, excess: Decimal, unit: str, components: Sequence[str]) -> None:
        super().__init__(message, field="done", value=str(excess))
        self.excess, self.unit, self.components = excess, unit, tuple(components)


class CountedNotedError(CalculationError):
    """Less was done of counted work than quoted, while a found note says that more of it was needed."""

    code = "counted_noted"


@dataclass(frozen=True, slots=True)
class CountedLine:
    """One line, or an assembly's part of one, that is settled: `unit_price` for each `unit` that was not done."""

    position: int
    kind: str
    slug: str
    trade: str
    name: str
    tax_class: str
    quoted: Decimal
    unit: str
    unit_price: Decimal


@dataclass(frozen=True, slots=True)
class CountedCredit:
    """What one line is billed less, in the currency, 0 or more."""

    line: CountedLine
    amount: Decimal


def settle(
    assembly: str,
    lines: Sequence[CountedLine],
    done: Decimal,
    *,
    noted: Decimal,
    components: Iterable[AgreedComponent],
    currency: Currency,
) -> tuple[CountedCredit, ...]:
    """What each line of counted work is billed less: (quoted - done) x unit price, each rounded; set-ups stay.

    Args:
        assembly: slug of the counted work.
        lines: of the assembly, all quoted in one quantity and unit.
        done: how much was done, in that unit, four decimals at most.
        noted: how much beyond the quoted quantity found notes have drawn for it.
        components: of the job, to say which of them takes what goes beyond.
        currency: of the job.

    Raises:
        NotCountedError: there are no such lines.
        CountedBeyondError: more was done than quoted and noted.
        CountedNotedError: less was done than quoted although more was noted.
    """
    if not lines:
        raise NotCountedError(f"the job has no counted work '{assembly}'", field="assembly", value=assembly)
    quoted, unit = lines[0].quoted, lines[0].unit
    if done > quoted + noted:
        raise _beyond(assembly, done - quoted - noted, unit, repaired_by(assembly, components))
    if done < quoted and noted > 0:
        words = f"found notes drew {noted} {unit} beyond the {quoted} {unit} quoted: correct them before less is settled"
        raise CountedNotedError(words, field="done", value=str(done))
    missing = max(_NONE, quoted - done)
    return tuple(CountedCredit(line, extend(missing, line.unit_price, currency)) for line in lines)


def repaired_by(assembly: str, components: Iterable[AgreedComponent]) -> tuple[str, ...]:
    """Slugs of the components with an agreed price that an assembly puts right."""
    return tuple(dict.fromkeys(one.slug for one in components if assembly in one.assemblies and one.unit_price > 0))


def _beyond(assembly: str, excess: Decimal, unit: str, repairs: tuple[str, ...]) -> CountedBeyondError:
    if repairs:
        way = f"it is hidden work of {' or '.join(repairs)}: expected a found note that names '{assembly}' as counted"
    else:
        way = "it puts no hidden component right: expected a change order, and as much settled as was quoted"
    words = (
        f"{excess} {unit} more of '{assembly}' was done than quoted, and counted work is never billed above its price; {way}"
    )
    return CountedBeyondError(words, excess=excess, unit=unit, components=repairs)
