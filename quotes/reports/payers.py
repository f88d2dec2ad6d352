"""How does a stored quote fall to its payers?

From what stands in the rows: no line is priced again. Tax classes of goods and phases of assemblies come from the cost base
that was kept with the quote.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, cast

from costbase.calc.cost_base import CostBase
from costbase.calc.money import currency, extend
from costbase.models import Shop
from quotes.calc.payers import OWNER, Charge, Figures, Hidden, Payer, Portion, Rule, Split, section_portions, split_quote
from quotes.calc.tax import Tax
from quotes.models import Job, PayerRule, Quote, QuotePayer
from quotes.reports.quotes import stored_components, stored_lines, tax_class_of
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]

NOT_READ = ("inputs", "atoms", "told", "request", "factors")
_PAYER = (
    "position", "label", "kind", "customer_id", "claim_reference", "purchase_order", "terms_days", "terms_words", "deductible",
)  # fmt: skip
_RULE = ("position", "by", "of", "trade", "payer", "cause", "note")


@dataclass(frozen=True, slots=True)
class Paid:
    """A quote with its payers: how it is split, and what is written down about each of them, by label."""

    split: Split
    payers: Mapping[str, Row]
    rules: Sequence[Row]
    warnings: tuple[str, ...]


def stored_payers(shop: Shop, quote_id: int) -> list[Row]:
    """The payers of a quote that were written down, in their order."""
    return list(QuotePayer.objects.for_shop(shop).filter(quote_id=quote_id).order_by("position").values(*_PAYER))


def stored_rules(shop: Shop, quote_id: int) -> list[Row]:
    """The rules of a quote in their order."""
    return list(PayerRule.objects.for_shop(shop).filter(quote_id=quote_id).order_by("position").values(*_RULE))


def payers_of_quotes(shop: Shop, quote_ids: Sequence[int]) -> dict[int, tuple[list[Row], list[Row]]]:
    """Payers and rules of several quotes by the id of the quote, each in their order: two queries."""
    found: dict[int, tuple[list[Row], list[Row]]] = {quote_id: ([], []) for quote_id in quote_ids}
    payers = QuotePayer.objects.for_shop(shop).filter(quote_id__in=quote_ids).order_by("quote_id", "position")
    rules = PayerRule.objects.for_shop(shop).filter(quote_id__in=quote_ids).order_by("quote_id", "position")
    for at, rows in enumerate((payers.values("quote_id", *_PAYER), rules.values("quote_id", *_RULE))):
        for row in rows:
            found[row["quote_id"]][at].append({name: value for name, value in row.items() if name != "quote_id"})
    return found


def paid(shop: Shop, quote: Quote) -> Paid:
    """The quote, split over its payers."""
    payers, rules = stored_payers(shop, quote.pk), stored_rules(shop, quote.pk)
    figures = figures_of(quote, stored_lines(shop, quote.pk), stored_components(shop, quote.pk))
    split = split_over(figures, payers, rules)
    nobody = [
        f"payer {row['label']} names no customer yet" for row in payers if row["kind"] != OWNER and row["customer_id"] is None
    ]
    return Paid(split, {row["label"]: row for row in payers}, rules, (*split.warnings, *nobody))


def split_over(figures: Figures, payers: Sequence[Row], rules: Sequence[Row]) -> Split:
    """Figures of a quote, split over stored payers by stored rules."""
    return split_quote(
        figures,
        [Payer(row["label"], row["kind"], row["deductible"] or Decimal(0)) for row in payers],
        [Rule(row["by"], row["of"], row["trade"], row["payer"], row["cause"]) for row in rules],
    )


def figures_of(quote: Quote | Job, lines: Sequence[Row], components: Sequence[Row]) -> Figures:
    """What the split has to know of a stored quote, or of the job that came of it."""
    base, totals, money = frozen_cost_base(quote), quote.totals, currency(quote.currency)
    goods = {line["slug"]: line["details"] for line in lines if line["kind"] == "material"}
    return Figures(
        charges=tuple(_charge(line, goods, base) for line in lines),
        hidden=tuple(
            Hidden(
                position=part["position"],
                slug=part["slug"],
                name=part["name"],
                allowance=part["allowance"],
                whole=extend(part["exposure"], part["unit_price"], money),
                portions=_exposed(part["details"]["sections"]),
            )
            for part in components
        ),
        tax_mode=base.rule.tax_mode,
        base=_amount(quote.base),
        base_taxes=agreed_taxes(quote),
        base_rounding=Decimal(totals["base_rounding"]),
        base_with_tax=_amount(quote.base_with_tax),
        record=_amount(quote.record),
        contingency=_amount(quote.contingency),
        limit=_amount(quote.limit),
        limit_taxes=_taxes(totals["limit_taxes"]),
        limit_rounding=Decimal(totals["limit_rounding"]),
        limit_with_tax=_amount(quote.limit_with_tax),
        currency=money,
    )


def _charge(line: Row, goods: Mapping[str, Row], base: CostBase) -> Charge:
    return Charge(
        **{name: line[name] for name in ("position", "kind", "slug", "trade", "name", "phase", "quantity", "unit", "amount")},
        tax_class=tax_class_of(line["kind"], line["slug"], line["details"].get("tax_class"), base),
        portions=_portions(line, goods, base),
        unit_price=line["price"],
    )


def _portions(line: Row, goods: Mapping[str, Row], base: CostBase) -> tuple[Portion, ...]:
    # Freight is whose the goods are that it brings.
    details = goods[line["details"]["freight_of"]] if "freight_of" in line["details"] else line["details"]
    if line["kind"] == "labour":
        return section_portions(line["slug"], line["phase"], Decimal(1), _sections(details))
    return tuple(
        portion
        for part in details.get("parts", ())
        for portion in section_portions(
            part["assembly"], base.assemblies[part["assembly"]].phase, Decimal(part["net"]), _sections(part)
        )
    )


def _sections(details: Row) -> list[tuple[str, Decimal]]:
    return [(share["section"], Decimal(share["share"])) for share in details.get("sections", ())]


def _exposed(sections: Sequence[Row]) -> tuple[Portion, ...]:
    return tuple(Portion("", "", part["section"], Decimal(repr(part["exposure"]))) for part in sections)


def _amount(column: object) -> Decimal:
    return cast(Decimal, column)


def agreed_taxes(quote: Quote | Job) -> tuple[Tax, ...]:
    """The taxes of the visible work as they were signed; of a coach of a fleet its share of the lot's."""
    return _taxes(quote.totals["base_taxes"])


def _taxes(rows: Sequence[Row]) -> tuple[Tax, ...]:
    return tuple(Tax(row["name"], Decimal(row["rate"]), Decimal(row["base"]), Decimal(row["amount"])) for row in rows)
