"""What goes on in the background: the night of a shop, and long files that are staged?

Once a night of each shop, its old request records are forgotten, offers whose prices hold no longer are ended, and its issued
quotes are worked out again. Whatever comes out
differently is told, and nothing is changed: a quote that no longer explains itself is a fault of ours.
"""

from datetime import UTC, date, datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

import structlog
from celery import shared_task
from django.utils import timezone

from costbase.actions.imports import stage_chunk
from costbase.actions.runs import Chunk, Json, start_run
from costbase.models import Network, Run, Shop
from costbase.scope import Actor, network_scope, shop_scope
from costbase.tasks import RUNS_KEPT, fresh_connection, work_chunk
from quotes.actions.accepting import expire_offers
from quotes.actions.idempotency import forget_network_requests, forget_requests
from quotes.actions.priced import ENGINE, shop_day
from quotes.actions.quote_rows import amount_columns, component_rows, line_rows, totals_json
from quotes.actions.trial_runs import TRIAL_TASK, forget_trials, try_chunk
from quotes.calc.options import offered
from quotes.calc.why import Context
from quotes.exchange.kept_kinds import READERS
from quotes.reports.recomputed import Rows, mismatches, recomputable_quotes

NIGHT_HOURS: Final = range(2, 6)
REQUESTS_KEPT: Final = timedelta(days=1)
NIGHTLY: Final = "nightly"
NIGHTLY_TASK: Final = "quotes.tasks.nightly_chunk"
# A quote takes some hundredths of a second: well under a minute.
QUOTES_A_CHUNK: Final = 100

_log = structlog.get_logger("quotes.tasks")


@shared_task(name="quotes.tasks.begin_nightly_work")
def begin_nightly_work() -> None:
    """Every hour: looks for the shops where it is night now. One that fails keeps no other from its night."""
    fresh_connection()
    now = timezone.now()
    for shop in Shop.objects.order_by("id"):
        if _is_night(shop, now):
            begin_night_of.delay(shop.pk)
    # A network has no night of its own: its shops lie in several time zones.
    if now.astimezone(UTC).hour in NIGHT_HOURS:
        for network in Network.objects.order_by("id"):
            forget_requests_of_network.delay(network.pk)


@shared_task(name="quotes.tasks.forget_requests_of_network")
def forget_requests_of_network(network_id: int) -> None:
    """Forgets a network's old request records; done again within the hour, it finds none."""
    fresh_connection()
    now = timezone.now()
    by = Actor(person_id=None, token_id=None, role="system", request_id=f"night-network-{network_id}-{now.date()}")
    with network_scope(network_id, by):
        network = Network.objects.get(pk=network_id)
        forget_network_requests(by=by, network=network, before=now - REQUESTS_KEPT)


@shared_task(name="quotes.tasks.begin_night_of")
def begin_night_of(shop_id: int) -> None:
    """Begins the night's work of one shop, unless it has begun."""
    fresh_connection()
    begin_night(Shop.objects.get(pk=shop_id), timezone.now())


def _is_night(shop: Shop, now: datetime) -> bool:
    return now.astimezone(ZoneInfo(shop.time_zone)).hour in NIGHT_HOURS


def begin_night(shop: Shop, now: datetime) -> Run | None:
    """The run of this shop's night, from which all of it follows; None by day, and where it was begun before."""
    if not _is_night(shop, now):
        return None
    day = shop_day(shop, now).isoformat()
    by = Actor(person_id=None, token_id=None, role="system", request_id=f"night-{shop.pk}-{day}")
    with shop_scope(shop.pk, by):
        if Run.objects.for_shop(shop).filter(kind=NIGHTLY, key=day).exists():
            return None
        ids = recomputable_quotes(shop, ENGINE)
        chunks: list[Json] = [{"forget_before": (now - REQUESTS_KEPT).isoformat(), "expire_before": day}]
        chunks += [{"quotes": ids[at : at + QUOTES_A_CHUNK]} for at in range(0, len(ids), QUOTES_A_CHUNK)]
        return start_run(by=by, owner=shop, kind=NIGHTLY, task=NIGHTLY_TASK, chunks=chunks, key=day, now=now)


@shared_task(name=NIGHTLY_TASK)
def nightly_chunk(run_id: int, n: int) -> None:
    """One part of a shop's night."""
    work_chunk(run_id, n, _of_night)


def _of_night(chunk: Chunk) -> Json:
    assert chunk.shop_id is not None
    shop = Shop.objects.get(pk=chunk.shop_id)
    if "forget_before" in chunk.params:
        before = datetime.fromisoformat(chunk.params["forget_before"])
        return {
            "expired_offers": expire_offers(shop=shop, day=date.fromisoformat(chunk.params["expire_before"]), by=chunk.actor),
            "forgotten_requests": forget_requests(by=chunk.actor, shop=shop, before=before),
            # As long as their runs, which are forgotten by then.
            "forgotten_trials": forget_trials(by=chunk.actor, shop=shop, before=before - RUNS_KEPT),
        }
    found = mismatches(shop, chunk.params["quotes"], _rows)
    for mismatch in found:
        _log.error("quote_comes_to_something_else", shop=shop.slug, **mismatch)
    wrong = {mismatch["quote"] for mismatch in found}
    return {"recomputed": len(chunk.params["quotes"]), "mismatched": len(wrong), "mismatches": found}


@shared_task(name=TRIAL_TASK)
def trial_chunk(run_id: int, n: int) -> None:
    """One part of a trial of drafts on issued quotes."""
    work_chunk(run_id, n, _of_trial)


def _of_trial(chunk: Chunk) -> Json:
    assert chunk.shop_id is not None
    return try_chunk(shop=Shop.objects.get(pk=chunk.shop_id), chunk=chunk)


@shared_task(name="quotes.tasks.stage_import_chunk")
def stage_import_chunk(run_id: int, n: int) -> None:
    """Some hundred rows of a long file. It is here because the severity rules in it are read by those who grade by them."""
    work_chunk(run_id, n, _of_import)


def _of_import(chunk: Chunk) -> Json:
    owner = Shop.objects.get(pk=chunk.shop_id) if chunk.shop_id else Network.objects.get(pk=chunk.network_id or 0)
    return stage_chunk(owner=owner, import_id=chunk.run_params["import"], part=chunk.params, readers=READERS)


def _rows(context: Context) -> Rows:
    worked = context.quote
    ticked = offered(context.inputs, context.cost_base, context.rules, context.factors, context.points, worked)
    return Rows(amount_columns(worked), totals_json(worked, ticked), line_rows(worked), component_rows(worked))
