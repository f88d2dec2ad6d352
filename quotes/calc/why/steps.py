"""What does an answer to "why?" consist of?"""

from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.cost_base import CostBase, EditionRef
from costbase.calc.errors import CalculationError
from costbase.calc.measures import MEASURES
from costbase.calc.money import decimal_quantity
from costbase.calc.units import show
from quotes.calc.contingency import CostFactors, SamplePoints
from quotes.calc.inputs import QuoteInputs
from quotes.calc.quote import Quote
from quotes.calc.severity import SeverityRules
from quotes.calc.takeoff import Value

SHOWN_PLACES = 4
# Prices and quantities of one unit: a cartridge for an inch of bead is less than a ten-thousandth of a case.
FINE_SHOWN = 6


class NothingToExplainError(CalculationError):
    """The quote has no such line, amount, component or tier."""

    code = "nothing_to_explain"


@dataclass(frozen=True, slots=True)
class WhyStep:
    """One step: what was done, what came out, in which unit, and where that comes from.

    `source` names the survey, the coach, the estimator, a rule of this service, or an edition with its first day; it is "" for
    plain arithmetic on the steps above. `purchase` marks what the shop pays or adds, which is not for everybody to read.
    """

    text: str
    value: str
    unit: str
    source: str
    purchase: bool = False


@dataclass(frozen=True, slots=True)
class Why:
    """The steps to one number; `value` is where they land, and must equal what the quote stores."""

    of: str
    value: Decimal | str
    steps: tuple[WhyStep, ...]


@dataclass(frozen=True, slots=True)
class Context:
    """A quote that was worked out again, with everything it was worked from."""

    inputs: QuoteInputs
    cost_base: CostBase
    rules: SeverityRules
    factors: CostFactors
    points: SamplePoints
    quote: Quote

    def money(self, value: Decimal) -> str:
        """An amount with the currency's decimals."""
        return f"{value:.{self.cost_base.currency.digits}f}"

    @property
    def currency(self) -> str:
        """The unit of every amount."""
        return self.cost_base.currency.code


def edition_words(edition: object) -> str:
    """The source of what an edition says."""
    return edition.words() if isinstance(edition, EditionRef) else ""


def number(value: float | Decimal, places: int = SHOWN_PLACES) -> str:
    """A number for people: half up to four decimals, or to `places`, without trailing zeros."""
    text = f"{decimal_quantity(float(value), places):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def measure_value(slug: str, value: Value) -> tuple[str, str]:
    """The value of a measure and its unit, as people enter it."""
    return in_entry_unit(value, MEASURES[slug].unit)


def in_entry_unit(value: Value, unit: str) -> tuple[str, str]:
    """A canonical value in a unit, and the unit; yes or no and options have none."""
    if isinstance(value, bool):
        return ("yes" if value else "no"), ""
    if isinstance(value, str):
        return value, ""
    text, _, symbol = show(value, unit, SHOWN_PLACES).rpartition(" ")
    return text, symbol
