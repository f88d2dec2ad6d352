"""How is a person told what nobody can see yet: what may be found, what is set aside for it, and how far it may go?"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from api.management.printed_paper import FAINT, Cell, Paper
from api.management.printed_words import HATCHED, SOLID, number, percent, quantity, roofs_in

ASIDE: Final = "set aside for hidden work, billed only if found"
_ODDS: Final = (("1 job in 2 stays below", "p50"), ("4 jobs in 5", "p80"), ("9 jobs in 10", "p90"))
# The room that words and amounts take beside a bar of the forecast.
_BESIDE: Final = 38


def print_hidden(paper: Paper) -> None:
    """Every hidden component, the dearest first; those that this work does not open below, with their price."""
    quote = paper.quote
    exposed = [part for part in quote["hidden"] if not part["details"]["no_exposure"]]
    others = [part for part in quote["hidden"] if part["details"]["no_exposure"]]
    paper.heading("Hidden work: what may be found when the roof is open")
    columns = ["", ">unseen", ">chance", ">share", ">price of one", ">set-up", ">allowance"]
    rows = [_hidden_row(paper, part) for part in sorted(exposed, key=lambda part: -Decimal(part["allowance"]))]
    last: list[Cell] = ["Allowance", *[""] * 5, paper.money(quote["amounts"]["allowance"])]
    if paper.is_roomy:
        # There the owner's own words have room too.
        columns.append("")
        last.append("")
        for row, part in zip(rows, sorted(exposed, key=lambda part: -Decimal(part["allowance"])), strict=True):
            row.append(part["owner_words"])
    paper.table(columns, rows, last=last)
    paper.line(
        "Unseen: what the survey could not rule out. Chance: that any of it is bad. Share: how much of it is bad then, on "
        "average. Set-up: charged once, if it is found.",
        FAINT,
    )
    for part in others:
        price = paper.money(part["unit_price"])
        paper.line(f"Not opened by this work: {part['name'].lower()}. The price of one is {price}, should it be wanted.", FAINT)


def _hidden_row(paper: Paper, part: Mapping[str, Any]) -> list[Cell]:
    return [
        part["name"],
        quantity(part["exposure"], part["unit"]),
        percent(part["chance"]),
        percent(part["share"]),
        paper.money(part["unit_price"]),
        paper.money(part["set_up"]),
        paper.money(part["allowance"]),
    ]


def print_reckoning(paper: Paper) -> None:
    """From the work in this price to what the owner signs, beside what is paid if nothing is found."""
    quote, amounts = paper.quote, paper.quote["amounts"]
    base = paper.money(amounts["base"])
    rows: list[list[Cell]] = [["Work in this price", base, base]]
    if Decimal(amounts["record"]):
        rows.append(["This shop's record on such work", "", paper.money(amounts["record"])])
    rows += [
        ["Allowance: what roofs like this need on average", "", paper.money(amounts["allowance"])],
        ["Reserve: for a roof that is worse than the average", "", paper.money(amounts["reserve"])],
        ["Before tax", base, paper.money(amounts["limit"])],
        *_taxes(paper),
    ]
    paper.heading("What you pay, and what you sign")
    last = ["With tax", paper.money(amounts["base_with_tax"]), paper.money(amounts["limit_with_tax"])]
    paper.table(["", ">if nothing is found", ">the limit: at most"], rows, last=last)
    paper.line(
        f"Allowance and reserve together, {paper.money(amounts['contingency'])}, are {ASIDE}, at the prices above. "
        f"{roofs_in(quote['confidence_level'])} like this stay inside. Beyond the limit nothing is done without a new consent."
    )
    paper.line(f"Deposit when you accept: {paper.money(amounts['deposit'])}.")


def _taxes(paper: Paper) -> list[list[Cell]]:
    amounts, taxes = paper.quote["amounts"], paper.quote["taxes"]
    rows: list[list[Cell]] = [
        [
            f"{at_base['name']}, {number(Decimal(at_base['rate']) * 100, 3)} %",
            paper.money(at_base["amount"]),
            paper.money(at_limit["amount"]),
        ]
        for at_base, at_limit in zip(taxes["base"], taxes["limit"], strict=True)
    ]
    if Decimal(amounts["base_rounding"]) or Decimal(amounts["limit_rounding"]):
        rows.append(["Rounding", paper.money(amounts["base_rounding"]), paper.money(amounts["limit_rounding"])])
    return rows


def print_forecast(paper: Paper) -> None:
    """What the shop expects the job to cost in the end, which is never the owner's limit."""
    quote, forecast = paper.quote, paper.quote["forecast"]
    known = min(Decimal(quote["amounts"]["base"]), Decimal(forecast["p50"]))
    rows = [[label, paper.money(forecast[name]), _band(paper, known, forecast[name])] for label, name in _ODDS]
    paper.heading("The shop's own forecast of the final cost, before tax: not your limit")
    paper.table(["", ">", ""], rows)
    if quote["price_basis"] == "firm":
        paper.line("It counts hours that run over or under as well. In a firm price that risk is the shop's.")
    nothing, holds = percent(forecast["chance_nothing_found"]), percent(forecast["coverage_share"])
    paper.line(f"On {nothing} of such roofs nothing hidden is found; on {holds} the limit holds.")


def _band(paper: Paper, known: Decimal, amount: str) -> Cell:
    """Solid up to the visible work, hatched beyond; all bars on one scale."""
    parts = [(SOLID, float(known)), (HATCHED, float(Decimal(amount) - known))]
    return paper.bar(parts, paper.quote["forecast"]["p90"], paper.width - _BESIDE)
