"""What exactly is agreed when an offer is accepted with these options ticked?

Without options it is what the quote's rows say. With options the quote is worked out again with them sold, on its own cost
base, which is what the offer said ticking them would change.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from quotes.actions.priced import ENGINE
from quotes.actions.quote_rows import amount_columns, component_rows, line_rows, told_json, totals_json
from quotes.actions.quoting import QuoteStateError
from quotes.calc.options import Offered, with_options
from quotes.models import Quote
from quotes.reports.quotes import stored_components, stored_lines, worked_again

Row = dict[str, Any]

COLUMNS = (
    "hours", "cost", "base", "record", "allowance", "contingency", "limit", "base_with_tax", "limit_with_tax",
)  # fmt: skip


class NotOfferedError(CalculationError):
    """An option was ticked that the offer does not have."""

    code = "not_offered"


@dataclass(frozen=True, slots=True)
class Agreed:
    """Columns of a job row that are amounts, with `totals`, and the rows of its lines and hidden components.

    `told` is what is said besides amounts: days, exclusions, cautions.
    """

    columns: Row
    totals: Row
    lines: list[Row]
    components: list[Row]
    told: Row


def as_quoted(quote: Quote, lines: list[Row], components: list[Row]) -> Agreed:
    """What is agreed with a quote without options, from its rows."""
    columns = {name: getattr(quote, name) for name in COLUMNS}
    return Agreed(columns, quote.totals, lines, components, quote.told)


def agreed(shop: Shop, quote: Quote, options: Sequence[str]) -> Agreed:
    """What is agreed with a quote, options included.

    Raises:
        NotOfferedError: an option that was not offered.
        QuoteStateError: options on a quote that an older arithmetic priced.
    """
    unknown = [slug for slug in options if slug not in quote.inputs.get("offered", [])]
    if unknown:
        words = f"'{unknown[0]}' is not among the options offered with {quote.number}"
        raise NotOfferedError(words, field=f"options/{list(options).index(unknown[0])}", value=unknown[0])
    if not options:
        return as_quoted(quote, stored_lines(shop, quote.pk), stored_components(shop, quote.pk))
    if quote.engine != ENGINE:
        words = f"{quote.number} was priced by an older arithmetic; revise it to sell options with it"
        raise QuoteStateError(words, field="options", value=quote.engine)
    known = worked_again(quote)
    # In the order in which they were offered, whatever the order of the ticks: the price of several depends on it nowhere.
    ticked = tuple(slug for slug in known.inputs.offered if slug in set(options))
    worked = with_options(known.inputs, ticked, known.cost_base, known.rules, known.factors, known.points)
    columns = {name: value for name, value in amount_columns(worked).items() if name in COLUMNS}
    totals, told = totals_json(worked, Offered((), None)), told_json(worked, known.inputs.days)
    return Agreed(columns, totals, line_rows(worked), component_rows(worked), told)
