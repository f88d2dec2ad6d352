"""How do drafts of editions get tried on more quotes than a request has time for?

A run works them off, some dozens in a chunk, and keeps what it found of each quote in a row of its own. Drafts are checked when
the run begins and once more in every chunk, since editions may have changed meanwhile: a run never tells half of its quotes on
drafts that could no longer be saved.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from django.db.models import Count, F, Q, Sum

from costbase.actions.drafts import EditionDraft
from costbase.actions.runs import Chunk, Json, start_run
from costbase.calc.money import currency
from costbase.models import Run, Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.trial_rows import tried_json
from quotes.actions.trials import Chosen, Tried, checked_overlay, chosen_quotes, differs, try_editions
from quotes.models import TriedQuote

TRIAL: Final = "trial"
TRIAL_TASK: Final = "quotes.tasks.trial_chunk"
# A quote takes some hundredths of a second on both sides: well under a minute.
QUOTES_A_CHUNK: Final = 50

Row = dict[str, Any]


def start_trial(*, by: Actor, shop: Shop, day: date, drafts: Sequence[EditionDraft], last_issued: int, now: datetime) -> Run:
    """A run that tries drafts on the last issued quotes of a shop.

    Args:
        by: who wants it.
        shop: whose scope is open.
        day: on which all quotes are worked out.
        drafts: each kind and slug once.
        last_issued: so many, superseded revisions left aside.
        now: this moment.

    Raises:
        CalculationFaults: drafts that cannot be saved, with fields below ``editions``.
    """
    assert_scope(shop.pk)
    checked_overlay(shop, day, drafts)
    ids = [quote.pk for quote in chosen_quotes(shop, Chosen(last_issued, ()))]
    chunks = [{"after": at, "quotes": ids[at : at + QUOTES_A_CHUNK]} for at in range(0, len(ids), QUOTES_A_CHUNK)]
    params = {"on": day.isoformat(), "drafts": [asdict(draft) for draft in drafts]}
    return start_run(by=by, owner=shop, kind=TRIAL, task=TRIAL_TASK, chunks=chunks, params=params, now=now)


def try_chunk(*, shop: Shop, chunk: Chunk) -> Json:
    """Tries the drafts on the quotes of one chunk and keeps what they do to each; counts for the run's result."""
    assert_scope(shop.pk)
    drafts = [EditionDraft(**draft) for draft in chunk.run_params["drafts"]]
    trial = try_editions(
        shop=shop,
        day=date.fromisoformat(chunk.run_params["on"]),
        drafts=drafts,
        chosen=Chosen(0, tuple(chunk.params["quotes"])),
        coaches=(),
    )
    digits = currency(shop.currency).digits
    places = enumerate(trial.quotes, chunk.params["after"] + 1)
    kept = [_row(shop, chunk.run_id, place, one, digits) for place, one in places]
    TriedQuote.objects.for_shop(shop).bulk_create(kept)
    return {
        "tried": len(kept),
        "changed": sum(1 for row in kept if row.changed),
        "refused": sum(1 for row in kept if row.refused),
    }


def _row(shop: Shop, run_id: int, position: int, one: Tried, digits: int) -> TriedQuote:
    assert one.quote is not None
    return TriedQuote(
        shop=shop,
        run_id=run_id,
        quote_id=one.quote.pk,
        position=position,
        changed=differs(one),
        refused=one.with_drafts.refusal is not None,
        base_without=_amount(one, "base", with_drafts=False),
        base_with=_amount(one, "base", with_drafts=True),
        limit_without=_amount(one, "limit", with_drafts=False),
        limit_with=_amount(one, "limit", with_drafts=True),
        answer=tried_json(one, digits),
    )


def _amount(one: Tried, name: str, *, with_drafts: bool) -> Decimal | None:
    side = one.with_drafts if with_drafts else one.without
    return None if side.figures is None else side.figures.amounts[name]


def summary_of(shop: Shop, run_id: int) -> Mapping[str, Any]:
    """What the quotes of a run come to together so far: counts, and sums over those that both sides could work out."""
    both = Q(base_without__isnull=False, base_with__isnull=False)
    rows = TriedQuote.objects.for_shop(shop).filter(run_id=run_id)
    names = ("base_without", "base_with", "limit_without", "limit_with")
    return rows.aggregate(
        tried=Count("id"),
        worked_out=Count("id", filter=both),
        refused=Count("id", filter=Q(refused=True)),
        changed=Count("id", filter=Q(changed=True)),
        **{f"sum_{name}": Sum(name, filter=both) for name in names},
    )


def largest_change(shop: Shop, run_id: int, name: str) -> TriedQuote | None:
    """The quote of a run whose base or limit moves most, up or down; None where none moves."""
    moved = F(f"{name}_with") - F(f"{name}_without")
    rows = TriedQuote.objects.for_shop(shop).filter(run_id=run_id).exclude(**{f"{name}_with": F(f"{name}_without")})
    found = rows.filter(**{f"{name}_with__isnull": False, f"{name}_without__isnull": False})
    return found.annotate(squared=moved * moved).order_by("-squared", "position").defer("answer").first()


def forget_trials(*, by: Actor, shop: Shop, before: datetime) -> int:
    """Forgets what trials before an instant found; how many quotes that were."""
    assert_scope(shop.pk)
    return TriedQuote.objects.for_shop(shop).filter(created__lt=before).delete()[0]
