"""How does a quote look to a person who reads it in a terminal?

First what the owner signs, then where every part of it comes from, in the order in which it is worked. Takes a quote as the API
answers it, and nothing else.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from babel.dates import format_date
from rich.console import Console

from api.management.printed_paper import BOLD, FAINT, Cell, Paper, Quote
from api.management.printed_risk import ASIDE, print_forecast, print_hidden, print_reckoning
from api.management.printed_words import (
    EMPTY,
    HATCHED,
    LOCALE,
    SOLID,
    hours,
    number,
    packs,
    percent,
    quantity,
    whole_days,
    words,
)
from costbase.calc.contents_table import PHASES

Line = Mapping[str, Any]

PHASE_WORDS: Final = {
    "survey": "Looking at it",
    "protect": "Protection and access",
    "strip": "Taking off",
    "teardown": "Opening up",
    "inspect": "Inspection when open",
    "dry": "Drying and cleaning",
    "core": "Core and wall tops",
    "brace": "Bracing and backing",
    "deck": "Deck",
    "skin": "Skin",
    "edge": "Edges and gutters",
    "caps": "Caps",
    "penetrations": "Vents and openings",
    "seal": "Sealing",
    "test": "Leak test",
    "refit": "Putting back",
    "close": "Handing over",
}
TIER_WORDS: Final = {
    "skin-deep": "the skin, hardly anything under it",
    "local": "damage in places",
    "widespread": "damage over much of the roof",
    "frame": "what carries the roof is damaged",
}
BAR_WIDTH: Final = 22


@dataclass(frozen=True, slots=True)
class Heading:
    """What the quote itself knows by number only."""

    shop: str
    coach: str


def print_quote(console: Console, quote: Quote, heading: Heading) -> None:
    """Writes the quote to the console, as wide as that is and at most 120 characters."""
    paper = Paper(console, quote)
    _head(paper, heading)
    _phases(paper)
    _purchases(paper)
    _trades(paper)
    print_hidden(paper)
    print_reckoning(paper)
    print_forecast(paper)
    _days(paper)
    _checked(paper)
    for title, name in (("Warnings", "warnings"), ("Not in this price", "exclusions"), ("Cautions", "cautions")):
        paper.heading(title)
        paper.points(quote[name] or ["None."])


def _head(paper: Paper, heading: Heading) -> None:
    quote, amounts = paper.quote, paper.quote["amounts"]
    base, limit = amounts["base_with_tax"], amounts["limit_with_tax"]
    paper.heading(f"Quote {quote['number']}, revision {quote['revision']}, {quote['state']}")
    paper.line(f"{heading.coach}: {words(quote['plan']).lower()}", BOLD)
    paper.line(heading.shop)
    paper.line(f"Priced on {_day(quote['priced_on'])}, good until {_day(quote['valid_until'])}")
    if quote["provisional"]:
        paper.line("Provisional: nobody has looked at the roof yet, so this price cannot be accepted for work.", BOLD)
    paper.space()
    paper.table(
        ["", ">"],
        [["Work in this price, with tax", paper.money(base)]],
        last=["The most you pay without a new consent, with tax", paper.money(limit)],
    )
    paper.line(paper.bar([(SOLID, base), (HATCHED, float(Decimal(limit) - Decimal(base)))], limit, paper.width))
    paper.line(f"Solid is known: work in this price. Hatched is uncertain: {ASIDE}.", FAINT)


def _phases(paper: Paper) -> None:
    quote = paper.quote
    spent, amounts = quote["hours"]["by_phase"], quote["amounts_by_phase"]
    shop = [line for line in quote["lines"] if line["kind"] == "shop"]
    most = max(map(float, [*amounts.values(), *(line["amount"] for line in shop)]), default=0.0)
    rows: list[list[Cell]] = []
    for phase in [phase for phase in PHASES if phase in spent or phase in amounts]:
        row: list[Cell] = [PHASE_WORDS[phase], hours(spent.get(phase, "0"))]
        # What is taken off and put back is one line, in the phase in which it comes off.
        rows.append([*row, *_priced(paper, amounts[phase], most)] if phase in amounts else [*row, "", "priced with taking off"])
    rows += [[line["name"], "", *_priced(paper, line["amount"], most)] for line in shop]
    last = ["Work in this price", hours(quote["hours"]["total"]), paper.money(quote["amounts"]["base"]), ""]
    paper.heading("Work in this price, by phase")
    paper.table(["", ">hours", ">price", ""], rows, last=last)


def _priced(paper: Paper, amount: str, most: float) -> list[Cell]:
    return [paper.money(amount), paper.bar([(SOLID, amount)], most, BAR_WIDTH)]


def _purchases(paper: Paper) -> None:
    materials = [line for line in paper.quote["lines"] if line["kind"] == "material"]
    ordered = [line for line in materials if line["details"].get("supply") == "job"]
    shelved = [line for line in materials if line["details"].get("supply") == "stock"]
    brought = [line for line in materials if "freight_of" in line["details"]]
    paper.heading("Purchase list: to order for this coach")
    rows = [[*_bought(line), str(line["details"]["lead_days"]), paper.money(line["amount"])] for line in ordered]
    rows += [[line["name"], "", "", "", paper.money(line["amount"])] for line in brought]
    last = ["", "", "", "", paper.money(_sum([*ordered, *brought]))]
    paper.table(["", ">needed", ">order", ">lead days", ">price"], rows, last=last)
    if shelved:
        paper.heading("Purchase list: from the shelf")
        rows = [[*_bought(line), paper.money(line["amount"])] for line in shelved]
        paper.table(["", ">needed", ">have ready", ">price"], rows, last=["", "", "", paper.money(_sum(shelved))])
    paper.line("Needed: waste included.", FAINT)


def _bought(line: Line) -> list[str]:
    details = line["details"]
    return [line["name"], quantity(details["with_waste"], details["unit"]), packs(details["packs"], details["pack"])]


def _sum(lines: Iterable[Line]) -> str:
    return str(sum((Decimal(line["amount"]) for line in lines), Decimal(0)))


def _trades(paper: Paper) -> None:
    spent: Mapping[str, str] = paper.quote["hours"]["by_trade"]
    labour = [line for line in paper.quote["lines"] if line["kind"] == "labour"]
    most = max(map(float, spent.values()), default=0.0)
    rows: list[list[Cell]] = []
    for trade in sorted(spent, key=lambda trade: -Decimal(spent[trade])):
        paid = paper.money(_sum(line for line in labour if line["trade"] == trade))
        rows.append([words(trade), hours(spent[trade]), paid, paper.bar([(SOLID, spent[trade])], most, BAR_WIDTH)])
    last = ["All labour", hours(paper.quote["hours"]["total"]), paper.money(paper.quote["amounts"]["labour"]), ""]
    paper.heading("Hours by trade")
    paper.table(["", ">hours", ">price", ""], rows, last=last)


def _days(paper: Paper) -> None:
    days = paper.quote["days"]
    low, high = whole_days(days["low"]), whole_days(days["high"])
    paper.heading("Days")
    paper.line(f"In the shop: {low} to {high} days." if low != high else f"In the shop: {low} days.", BOLD)
    if days["reason"]:
        paper.line(f"The estimator's own range: {days['reason']}.")
    paper.line(", ".join(_day_parts(days)) + ".")
    if days["lead"]:
        paper.line(f"Ordered goods take up to {days['lead']} days: {days['lead_material']}.")
        if days["goods_after"]:
            paper.line(f"The coach waits for none if it comes in {whole_days(days['goods_after'])} days after the order.")


def _day_parts(days: Mapping[str, Any]) -> Iterator[str]:
    yield f"{number(days['working'], 1)} of work"
    if days["waiting"]:
        yield f"{number(days['waiting'], 1)} of waiting until something has dried or cured"
    yield f"up to {number(days['hidden'], 1)} more where what is set aside is needed"


def _checked(paper: Paper) -> None:
    checked, tier = paper.quote["checked"], paper.quote["tier"]
    share = checked["checked_share"]
    paper.heading("How much of the roof was checked")
    paper.line(f"{percent(share)} of the roof; of that {percent(checked['wet_share'])} was damp, soft or rotten.", BOLD)
    paper.line(paper.bar([(SOLID, share), (EMPTY, 1.0 - share)], 1.0, paper.width))
    paper.line("What was not checked never counts as sound.", FAINT)
    paper.line(f"Severity: {tier['tier']}, {TIER_WORDS[tier['tier']]}.")
    if tier["override_reason"]:
        paper.line(f"The rules say {tier['tier_by_rules']}; the estimator: {tier['override_reason']}.")
    paper.points(rule["reason"] for rule in tier["fired"])
    factors = [f"{words(c['condition'])}, hours x {number(c['factor'], 2)}: {c['reason']}" for c in paper.quote["conditions"]]
    _listed(paper, "What it put into this price:", [f"{a['text']} ({a['source']})" for a in checked["actions"]])
    _listed(paper, "What makes the work longer:", factors)


def _listed(paper: Paper, title: str, texts: Sequence[str]) -> None:
    if texts:
        paper.line(title)
        paper.points(texts)


def _day(text: str) -> str:
    return str(format_date(date.fromisoformat(text), "d MMMM y", locale=LOCALE))
