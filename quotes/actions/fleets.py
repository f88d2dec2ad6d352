"""How does a request become a fleet: worked out, kept as a draft, priced again, issued, deleted?

A fleet and its quotes are written, issued and deleted together. No quote of a fleet is changed alone, since every line of it is
a share of a line that all of them stand in.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F

from costbase import snapshot as cost_base_snapshot
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.fleet_inputs import FleetDraft
from quotes.actions.fleet_rows import FleetRows, PricedFleet, fleet_rows
from quotes.actions.fleet_statement import insert_fleet, replace_fleet
from quotes.actions.issuing import issue_all
from quotes.actions.priced import shop_day
from quotes.actions.quoting import QuoteStateError, delete_quotes
from quotes.calc.fleet import compute_fleet, fleet_part_read
from quotes.calc.inputs import QuoteInputs
from quotes.models import Fleet, Quote
from quotes.snapshot import cost_factors, points, severity_rules

Row = dict[str, Any]

_UNWRITTEN = {"id": None, "state": "trial", "version": 0, "created": None, "issued_at": None}


@dataclass(frozen=True, slots=True)
class KeptFleet:
    """A fleet as it was just written, or tried: its columns and those of its quotes, in their order."""

    row: Row
    quotes: list[Row]


def trial_fleet(*, shop: Shop, draft: FleetDraft, inputs: Sequence[QuoteInputs], by: Actor) -> KeptFleet:
    """Prices a fleet for today and keeps nothing."""
    assert_scope(shop.pk)
    rows = _rows(shop, draft, inputs, shop_day(shop), by)
    return KeptFleet(rows.row | _UNWRITTEN, [row | _UNWRITTEN | {"number": "", "fleet_id": None} for row in rows.quotes])


def draft_fleet(*, shop: Shop, draft: FleetDraft, inputs: Sequence[QuoteInputs], by: Actor) -> KeptFleet:
    """Prices a new fleet for today and keeps it as a draft, with a draft quote for each coach."""
    assert_scope(shop.pk)
    day = shop_day(shop)
    rows = _rows(shop, draft, inputs, day, by)
    return _kept(rows, insert_fleet(shop, rows, year=day.year))


def save_fleet(*, shop: Shop, fleet: Fleet, draft: FleetDraft, inputs: Sequence[QuoteInputs], by: Actor) -> KeptFleet:
    """Prices a draft again, for today, from changed inputs; the caller has locked it with its quotes and compared the version.

    A coach that stays keeps its quote and its number, in whatever place.
    """
    assert_scope(shop.pk)
    must_be_draft(fleet, doing="edited")
    day = shop_day(shop)
    rows = _rows(shop, draft, inputs, day, by)
    has = dict(Quote.objects.for_shop(shop).filter(fleet_id=fleet.pk).values_list("coach_id", "id"))
    kept = [has.get(coach.coach_id) for coach in draft.coaches]
    gone = set(has.values()) - set(kept)
    if gone:
        delete_quotes(shop=shop, quote_ids=sorted(gone))
    return _kept(rows, replace_fleet(shop, rows, id_=fleet.pk, kept=kept, year=day.year))


def delete_fleet(*, shop: Shop, fleet: Fleet, by: Actor) -> None:
    """Deletes a draft with all its quotes; anything else is kept for good. Their numbers are not given again."""
    assert_scope(shop.pk)
    must_be_draft(fleet, doing="deleted")
    every = Quote.objects.for_shop(shop).filter(fleet_id=fleet.pk).values_list("pk", flat=True)
    delete_quotes(shop=shop, quote_ids=list(every))
    Fleet.objects.for_shop(shop).filter(pk=fleet.pk).delete()


def issue_fleet(*, shop: Shop, fleet: Fleet, confirm_editions: bool, by: Actor) -> None:
    """Issues a fleet and every quote of it at the prices they show; the caller has locked it with its quotes.

    Raises:
        QuoteStateError: it is no draft, or its prices hold no longer.
        NewerEditionsError: something else is in force today than it was priced on, and the caller did not confirm.
    """
    assert_scope(shop.pk)
    must_be_draft(fleet, doing="issued")
    if fleet.valid_until < shop_day(shop):
        words = f"the prices of fleet {fleet.pk} held until {fleet.valid_until}; save it again to price it for today"
        raise QuoteStateError(words, value=fleet.valid_until.isoformat())
    rows = Quote.objects.for_shop(shop).filter(fleet_id=fleet.pk).order_by("place")
    quotes = list(rows.only("survey_id", "cost_base_id", "shop_id"))
    issued_at = issue_all(shop=shop, quotes=quotes, confirm_editions=confirm_editions, by=by)
    Fleet.objects.for_shop(shop).filter(pk=fleet.pk).update(
        state="issued", issued_at=issued_at, issued_by=by.person_id, version=F("version") + 1
    )


def must_be_draft(fleet: Fleet, *, doing: str) -> None:
    """Refuses an action by name when the fleet is no draft."""
    if fleet.state != "draft":
        raise QuoteStateError(f"fleet {fleet.pk} is {fleet.state}; only a draft can be {doing}", value=fleet.state)


def _rows(shop: Shop, draft: FleetDraft, inputs: Sequence[QuoteInputs], day: date, by: Actor) -> FleetRows:
    """The fleet priced on the editions in force on a day, as rows."""
    base = cost_base_snapshot.cost_base(shop, day, inputs[0].plan)
    factors = cost_factors()
    worked = compute_fleet(inputs, base, severity_rules(base.severity), factors, points())
    priced = PricedFleet(tuple(inputs), fleet_part_read(base, inputs, worked), factors, worked, day)
    return fleet_rows(shop, draft, priced, by)


def _kept(rows: FleetRows, written: Sequence[Row]) -> KeptFleet:
    first = written[0]
    of_fleet = {"id": first["fleet"], "version": first["fleet_version"], "created": first["fleet_created"]}
    draft = {"state": "draft", "issued_at": None}
    quotes = [row | new | draft | {"fleet_id": first["fleet"]} for row, new in zip(rows.quotes, written, strict=True)]
    return KeptFleet(rows.row | of_fleet | draft, quotes)
