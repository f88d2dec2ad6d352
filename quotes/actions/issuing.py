"""How does a draft become an offer that never changes again?

Issuing prices nothing: the offer stands at the prices that its drafts show. All alternatives are issued together. It is refused
where something newer is in force than one of them was priced on, unless whoever issues says that the drafts' prices shall hold.
"""

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from typing import cast

from django.db import connection
from django.db.models import F, QuerySet
from django.utils import timezone

from costbase import snapshot as cost_base_snapshot
from costbase.calc.cost_base import CostBase, EditionRef
from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from costbase.snapshot import Parsed
from quotes.actions.priced import shop_day
from quotes.actions.quoting import QuoteStateError, must_be, must_stand_alone
from quotes.models import Quote, Survey
from quotes.snapshot import frozen_cost_base

Newer = dict[str, str | None]

# A shop's scope writes no row of its network: the one thing that an issued quote changes there has a function of the database.
_MARK_USED = """
WITH own AS (
    UPDATE costbase_shopedition AS edition SET used = true
    FROM jsonb_to_recordset(%(own)s::jsonb) AS read (kind text, slug text, valid_from date)
    WHERE edition.shop_id = %(shop)s AND NOT edition.used AND edition.withdrawn_on IS NULL
        AND (edition.kind, edition.slug, edition.valid_from) = (read.kind, read.slug, read.valid_from)
)
SELECT costbase_use_network_editions(%(network)s::jsonb)
"""


class NewerEditionsError(CalculationError):
    """A draft that was priced on editions which newer ones have followed; `newer` lists them."""

    code = "newer_editions"

    def __init__(self, message: str, newer: list[Newer]) -> None:
        super().__init__(message, value=len(newer))
        self.newer = newer


def issue_quote(*, shop: Shop, quote: Quote, confirm_editions: bool, by: Actor) -> None:
    """Issues a draft with its alternatives at the prices they show; the caller has locked the offer. Nothing is priced again.

    From then on the quotes and their surveys stay as they are, an earlier revision that was on offer is superseded, and the
    shop's own editions under the quotes can only be followed.

    Raises:
        QuoteStateError: it is no draft, prices hold no longer, or an earlier revision has been accepted.
        NewerEditionsError: something else is in force today than a draft was priced on, and the caller did not confirm.
    """
    assert_scope(shop.pk)
    offer = _open_offer(shop, quote, shop_day(shop))
    earlier = Quote.objects.for_shop(shop).filter(number=quote.number, state="issued")
    issue_all(shop=shop, quotes=offer, confirm_editions=confirm_editions, by=by, in_place_of=earlier)


def issue_all(
    *,
    shop: Shop,
    quotes: Sequence[Quote],
    confirm_editions: bool,
    by: Actor,
    in_place_of: QuerySet[Quote] | None = None,
) -> datetime:
    """Issues drafts together, superseding earlier quotes; the caller has locked all of them and seen that they may be issued.

    Returns:
        When they were issued.

    Raises:
        NewerEditionsError: something else is in force today than a draft was priced on, and the caller did not confirm.
    """
    now = timezone.now()
    day = shop_day(shop, now)
    bases = [frozen_cost_base(quote) for quote in {quote.cost_base_id: quote for quote in quotes}.values()]
    newer = newer_editions(shop, bases, day)
    if newer and not confirm_editions:
        words = "newer editions are in force than this draft was priced on; save it again to price it on them, or confirm"
        raise NewerEditionsError(words, newer)
    if in_place_of is not None:
        in_place_of.update(state="superseded", version=F("version") + 1)
    Quote.objects.for_shop(shop).filter(pk__in=[quote.pk for quote in quotes]).update(
        state="issued", issued_at=now, issued_by=by.person_id, version=F("version") + 1
    )
    surveys = {quote.survey_id for quote in quotes}
    Survey.objects.for_shop(shop).filter(pk__in=surveys, locked_on=None).update(locked_on=day)
    _mark_used(shop, bases)
    return now


def _open_offer(shop: Shop, quote: Quote, day: date) -> list[Quote]:
    """The drafts that are issued together, which are what the owner can choose from.

    Read after the lock: an alternative that was added while this request waited for it belongs to the offer.
    """
    must_be(quote, "draft", doing="issued")
    must_stand_alone(quote)
    rows = Quote.objects.for_shop(shop).filter(number=quote.number).order_by("alternative")
    every = list(rows.only("revision", "state", "valid_until", "survey_id", "cost_base_id", "shop_id"))
    if "accepted" in {row.state for row in every}:
        words = f"{quote.number} was accepted in an earlier revision; from then on only change orders change it"
        raise QuoteStateError(words, value="accepted")
    offer = [row for row in every if row.revision == quote.revision]
    ends = min(row.valid_until for row in offer)
    if ends < day:
        words = f"the prices of {quote.number} held until {ends}; save it again to price it for today"
        raise QuoteStateError(words, value=ends.isoformat())
    return offer


def newer_editions(shop: Shop, bases: Sequence[CostBase], day: date) -> list[Newer]:
    """What is in force on a day otherwise than in the cost bases that drafts were priced on; each once.

    An edition that was replaced on its own day counts as newer too, so that contents are compared and not days. `in_force` is
    None for what was withdrawn, `quoted` for a hidden component or a condition that follows by itself and was not there.
    """
    today = {(kind, slug): value for kind, of in cost_base_snapshot.in_force(shop, day).items() for slug, value in of.items()}
    newer: list[Newer] = []
    for base in bases:
        newer += [found for found in _newer_than(base, today) if found not in newer]
    return newer


def _newer_than(base: CostBase, today: dict[tuple[str, str], Parsed]) -> list[Newer]:
    read = {(_ref(value).kind, _ref(value).slug): value for value in editions_of(base)}
    changed = [_newer(key, value, today.get(key)) for key, value in read.items() if today.get(key) != value]
    fresh = [_newer(key, None, value) for key, value in today.items() if key not in read and _comes_by_itself(value)]
    return [*changed, *fresh]


def editions_of(base: CostBase) -> Iterator[Parsed]:
    """Every value in a cost base."""
    groups: tuple[Iterable[Parsed], ...] = (
        base.trades.values(), base.materials.values(), base.prices.values(), base.assemblies.values(),
        base.conditions.values(), base.components.values(), (base.plan, base.rule, base.tiers, base.severity),
    )  # fmt: skip
    for group in groups:
        yield from group


def _newer(key: tuple[str, str], quoted: Parsed | None, in_force: Parsed | None) -> Newer:
    first_days = {"quoted": _first_day(quoted), "in_force": _first_day(in_force)}
    return {"kind": key[0], "slug": key[1], **first_days}


def _first_day(value: Parsed | None) -> str | None:
    return None if value is None else _ref(value).valid_from


def _comes_by_itself(value: Parsed) -> bool:
    """Whether it would enter the quote although nobody asks for it."""
    return _ref(value).kind == "component" or bool(getattr(value, "follows", ""))


def _ref(value: Parsed) -> EditionRef:
    return cast(EditionRef, value.edition)


def _mark_used(shop: Shop, bases: Sequence[CostBase]) -> None:
    """From now on the editions under these quotes can only be followed, never withdrawn or replaced."""
    refs = {_ref(value) for base in bases for value in editions_of(base)}
    read = {
        owner: json.dumps([{"kind": r.kind, "slug": r.slug, "valid_from": r.valid_from} for r in refs if r.owner == of])
        for owner, of in (("own", "shop"), ("network", "network"))
    }
    with connection.cursor() as cursor:
        cursor.execute(_MARK_USED, {**read, "shop": shop.pk})
