"""How do a worked fleet and its quotes stand in rows?

Numbers go as JSON strings, so that PostgreSQL reads exact decimals; `fleet_statement.py` writes the rows. The lines of the lot
stand with the fleet, each with the shares of its coaches; the shares are the lines of the coaches' quotes, each with what it is
a share of.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from costbase.calc.cost_base import CostBase
from costbase.calc.money import Currency, decimal_quantity
from costbase.models import Shop
from costbase.scope import Actor
from quotes.actions.fleet_inputs import FleetDraft
from quotes.actions.priced import ENGINE, Draft, Priced
from quotes.actions.quote_rows import (
    amount_columns,
    component_rows,
    freight_row,
    labour_row,
    line_rows,
    material_row,
    quote_row,
    shop_row,
    totals_json,
)
from quotes.calc.contingency import CostFactors
from quotes.calc.fleet import Fleet, GoodsShare, LabourShare, LotFreight, LotGoods, LotLabour, LotShop, ShopShare
from quotes.calc.inputs import QuoteInputs
from quotes.calc.kinds import by_assembly
from quotes.calc.options import Offered
from quotes.calc.takeoff import Take
from quotes.exchange.frozen import factors_to_json

Row = dict[str, Any]

# Options that an owner may still tick would move every coach's share, so a fleet sells its options or leaves them.
_NOT_OFFERED = Offered((), None)


@dataclass(frozen=True, slots=True)
class PricedFleet:
    """A worked fleet with everything that it was worked from."""

    coaches: tuple[QuoteInputs, ...]
    cost_base: CostBase
    factors: CostFactors
    worked: Fleet
    priced_on: date


@dataclass(frozen=True, slots=True)
class FleetRows:
    """A fleet on its way into the tables: its columns, its quotes by place with lines and components, and the cost base."""

    row: Row
    quotes: list[Row]
    lines: list[Row]
    components: list[Row]
    cost_base: CostBase


def fleet_rows(shop: Shop, draft: FleetDraft, priced: PricedFleet, by: Actor) -> FleetRows:
    """Every row of a fleet."""
    quotes: list[Row] = []
    lines: list[Row] = []
    components: list[Row] = []
    lot = lot_lines(priced.worked)
    shared = _by_place(lot)
    for at, (coach, inputs, worked) in enumerate(zip(draft.coaches, priced.coaches, priced.worked.quotes, strict=True)):
        asked = Draft("", draft.customer_id, coach.coach_id, coach.survey_id, coach.request)
        one = Priced(inputs, priced.cost_base, priced.factors, worked, _NOT_OFFERED, priced.priced_on)
        place = {"place": at + 1}
        own = line_rows(worked)
        row = quote_row(shop, asked, one, by) | place
        quotes.append(row | {"told": row["told"] | {"lot": _of_lot(own, shared[at + 1])}})
        lines += [line | place for line in own]
        components += [row | place for row in component_rows(worked)]
    return FleetRows(_fleet_row(shop, draft, priced, by, lot), quotes, lines, components, priced.cost_base)


def _fleet_row(shop: Shop, draft: FleetDraft, priced: PricedFleet, by: Actor, lot: Sequence[Row]) -> Row:
    worked, rule, aside = priced.worked, priced.cost_base.rule, priced.worked.set_aside
    return {
        "label": draft.label,
        "customer_id": draft.customer_id,
        "coaches": len(draft.coaches),
        "priced_on": priced.priced_on.isoformat(),
        "valid_until": (priced.priced_on + timedelta(days=rule.validity_days)).isoformat(),
        "engine": ENGINE,
        "plan": priced.cost_base.plan.slug,
        "price_basis": rule.price_basis,
        "currency": shop.currency,
        "level": rule.confidence_level,
        "learning": rule.unit_learning,
        "provisional": worked.provisional,
        **amount_columns(worked),
        "chance_nothing_found": aside.chance_nothing_found,
        "atoms": list(aside.atoms),
        "totals": totals_json(worked, _NOT_OFFERED),
        "told": {"lines": list(lot), **_apart(worked), "notes": _notes(worked)},
        "request": draft.request,
        "factors": factors_to_json(priced.factors),
        "created_by": by.person_id,
    }


def _apart(worked: Fleet) -> Row:
    """What the coaches would come to one by one, and the sum of their own limits."""
    alone = [quote.totals for quote in worked.alone]
    return {
        "alone": [{"base": str(totals.base), "limit": str(totals.limit)} for totals in alone],
        "limits_together": str(sum((quote.totals.limit for quote in worked.quotes), Decimal(0))),
    }


def _notes(worked: Fleet) -> list[str]:
    together = sum((quote.totals.contingency for quote in worked.quotes), Decimal(0))
    if worked.totals.contingency <= together:
        return []
    return [
        "little is likely on each coach, but some on one of them: the lot's limit needs more set aside than the coaches' own "
        "limits together"
    ]


def lot_lines(worked: Fleet) -> list[Row]:
    """Every line of the lot in its order, each with the shares of its coaches."""
    takes = by_assembly(worked.takes)
    rows = [_labour(lot, takes[lot.line.assembly], worked.currency) for lot in worked.labour]
    rows += [_goods(lot, takes, worked.currency) for lot in worked.goods]
    rows += [_freight(lot) for lot in worked.freight]
    rows += [_shop(lot) for lot in worked.shop]
    return [{"position": at, **row} for at, row in enumerate(rows, 1)]


def _labour(lot: LotLabour, take: Take, currency: Currency) -> Row:
    row = labour_row(lot.line, take, currency)
    more = {"set_up": str(lot.line.set_up_hours), "shares": [_labour_share(share) for share in lot.shares]}
    return row | {"details": row["details"] | more}


def _labour_share(share: LabourShare) -> Row:
    return {
        "place": share.place + 1,
        "quantity": str(share.line.hours),
        "amount": str(share.line.amount),
        "alone": str(share.alone.hours),
        "unit_number": share.unit,
        "learning": str(decimal_quantity(share.learning)),
        "worked": str(share.worked),
    }


def _goods(lot: LotGoods, takes: Mapping[str, Take], currency: Currency) -> Row:
    row = material_row(lot.line, takes, currency)
    return row | {"details": row["details"] | {"shares": [_goods_share(share) for share in lot.shares]}}


def _goods_share(share: GoodsShare) -> Row:
    return {
        "place": share.place + 1,
        "quantity": str(share.line.packed.billed),
        "amount": str(share.line.amount),
        "alone": str(share.alone.packed.billed),
        "net": str(share.alone.packed.net),
    }


def _freight(lot: LotFreight) -> Row:
    row = freight_row(lot.line)
    shares = [{"place": share.place + 1, "amount": str(share.line.amount)} for share in lot.shares]
    return row | {"details": row["details"] | {"shares": shares}}


def _shop(lot: LotShop) -> Row:
    row = shop_row(lot.line)
    return row | {"details": row["details"] | {"shares": [_shop_share(share) for share in lot.shares]}}


def _shop_share(share: ShopShare) -> Row:
    return {"place": share.place + 1, "amount": str(share.line.amount), "direct": str(share.direct)}


def _by_place(lot: Sequence[Row]) -> dict[int, dict[tuple[str, str], Row]]:
    """What each line of each coach is a share of, by place and by slug and trade of the line."""
    found: dict[int, dict[tuple[str, str], Row]] = {}
    for row in lot:
        of_lot = {"lot_quantity": row["quantity"], "lot_amount": row["amount"]}
        for share in row["details"]["shares"]:
            own = {name: value for name, value in share.items() if name not in ("place", "quantity", "amount")}
            found.setdefault(share["place"], {})[row["slug"], row["trade"]] = of_lot | own
    return found


def _of_lot(lines: Sequence[Row], shared: Mapping[tuple[str, str], Row]) -> dict[str, Row]:
    """What the lines of a coach are shares of, by their position."""
    return {str(line["position"]): shared[line["slug"], line["trade"]] for line in lines}
