"""What happens in a shop's night: old request records go, and every issued quote is worked out again."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import celery
import pytest
import structlog
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costbase.calc.errors import CalculationError
from costbase.models import Run, Shop
from costbase.scope import network_scope
from quotes import snapshot, tasks
from quotes.actions import issuing, priced
from quotes.actions.priced import ENGINE
from quotes.actions.quote_rows import line_rows
from quotes.models import IdempotencyKey, NetworkIdempotencyKey, Quote
from quotes.reports import recomputed
from quotes.reports.recomputed import mismatches
from tests import make
from tests.background.working import work_off
from tests.rest.office import Office, office
from tests.rest.quoting import Clock, Quoting, entry

# Half past two in Chicago, in the night after the day of the tests.
NIGHT = datetime(2026, 3, 3, 8, 30, tzinfo=UTC)


@pytest.fixture
def here(db: None) -> Office:
    return office()


@pytest.fixture
def quoting(here: Office, monkeypatch: pytest.MonkeyPatch) -> Quoting:
    for module in (priced, issuing):
        monkeypatch.setattr(module, "timezone", Clock())
    return Quoting(here)


def night_of(office: Office, now: datetime = NIGHT) -> Run:
    run = tasks.begin_night(office.shop, now)
    assert run is not None
    return work_off(run.pk)


def test_the_night_of_each_shop_is_its_own() -> None:
    chicago, berlin = Shop(time_zone="America/Chicago"), Shop(time_zone="Europe/Berlin")
    hours = {
        zone: [hour for hour in range(24) if tasks._is_night(shop, datetime(2026, 3, 3, hour, 30, tzinfo=UTC))]
        for zone, shop in (("chicago", chicago), ("berlin", berlin))
    }

    # Chicago is six hours behind in March's first week, Berlin one ahead: 2 to 6 o'clock there.
    assert hours == {"chicago": [8, 9, 10, 11], "berlin": [1, 2, 3, 4]}


def test_every_hour_the_shops_where_it_is_night_are_told_apart(here: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    make.shop(time_zone="Europe/Berlin")
    begun: list[int] = []
    clock = Clock()
    clock.moment = NIGHT
    monkeypatch.setattr(tasks, "timezone", clock)
    monkeypatch.setattr(tasks.begin_night_of, "delay", begun.append)

    tasks.begin_nightly_work()

    assert begun == [here.shop.pk]


def test_a_night_is_begun_once_and_not_by_day(here: Office) -> None:
    first = tasks.begin_night(here.shop, NIGHT)

    assert first is not None
    assert (first.kind, first.key, first.total) == ("nightly", "2026-03-03", 1)
    assert tasks.begin_night(here.shop, NIGHT + timedelta(hours=1)) is None
    assert tasks.begin_night(here.shop, NIGHT + timedelta(hours=12)) is None
    assert tasks.begin_night(here.shop, NIGHT + timedelta(hours=24)) is not None


def test_requests_of_more_than_a_day_ago_are_forgotten(here: Office) -> None:
    with here.scope():
        rows = IdempotencyKey.objects.for_shop(here.shop)
        for key, hours in (("old", 25), ("recent", 23)):
            kept = rows.create(shop=here.shop, person_id=1, key=key, fingerprint="")
            rows.filter(pk=kept.pk).update(created=NIGHT - timedelta(hours=hours))

    run = night_of(here)

    assert run.state == "done"
    assert run.result == {"expired_offers": 0, "forgotten_requests": 1, "forgotten_trials": 0}
    with here.scope():
        assert list(IdempotencyKey.objects.for_shop(here.shop).values_list("key", flat=True)) == ["recent"]


def test_a_networks_requests_are_forgotten_in_the_night_of_utc(here: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    network = here.shop.network
    with network_scope(network.pk, make.OPERATOR):
        rows = NetworkIdempotencyKey.objects.for_network(network)
        for key, age in (("old", timedelta(hours=25)), ("new", timedelta(hours=23))):
            row = rows.create(network=network, person_id=1, key=key, fingerprint="x" * 64)
            rows.filter(pk=row.pk).update(created=NIGHT - age)
    clock = Clock()
    clock.moment = NIGHT
    monkeypatch.setattr(tasks, "timezone", clock)
    monkeypatch.setattr(tasks, "fresh_connection", lambda: None)
    monkeypatch.setattr(tasks.begin_night_of, "delay", lambda _: None)
    monkeypatch.setattr(tasks.forget_requests_of_network, "delay", tasks.forget_requests_of_network)

    tasks.begin_nightly_work()
    with network_scope(network.pk, make.OPERATOR):
        assert rows.count() == 2  # Half past eight.
    clock.moment = NIGHT - timedelta(hours=6)
    tasks.begin_nightly_work()
    with network_scope(network.pk, make.OPERATOR):
        # At half past two the older one was 19 hours old: nothing goes yet.
        assert rows.count() == 2
    clock.moment = NIGHT + timedelta(hours=18)
    tasks.begin_nightly_work()
    with network_scope(network.pk, make.OPERATOR):
        assert rows.count() == 0  # Half past two of the next night.


def test_issued_quotes_come_to_the_same_amounts_and_drafts_are_left_alone(quoting: Quoting) -> None:
    quoting.issued()
    quoting.draft()
    # Prices of tomorrow are no business of what was issued.
    quoting.own_edition("rate", "technician", billed_per_hour="500.00")

    run = night_of(quoting.office)

    counted = {"expired_offers": 0, "forgotten_requests": 0, "forgotten_trials": 0, "recomputed": 1, "mismatched": 0}
    assert run.result == {**counted, "mismatches": []}


def offering(quoting: Quoting) -> int:
    """A draft that offers an option."""
    measures = [*quoting.body()["measures"], entry("paint_job_count", 1)]
    number: int = quoting.draft(measures=measures, offered=["paint-match"]).json()["id"]
    return number


def test_what_ticking_an_option_changes_is_worked_out_again_too(quoting: Quoting) -> None:
    quote_id = offering(quoting)
    with quoting.office.scope():
        row = Quote.objects.for_shop(quoting.shop).get(pk=quote_id)
        row.totals["offered"]["together"]["base"] = "1002.51"
        row.save(update_fields=["totals"])
    quoting.issue(quote_id)

    (mismatch,) = night_of(quoting.office).result["mismatches"]

    assert (mismatch["quote"], mismatch["place"]) == (quote_id, "totals/offered")


def test_what_is_told_today_and_was_not_told_then_is_no_mismatch(quoting: Quoting) -> None:
    quote_id = offering(quoting)
    with quoting.office.scope():
        row = Quote.objects.for_shop(quoting.shop).get(pk=quote_id)
        for later in ("amounts_by_kind", "counted"):
            del row.totals[later]
        for ticked in row.totals["offered"]["options"]:
            del ticked["warnings"]
        row.save(update_fields=["totals"])
    quoting.issue(quote_id)

    assert night_of(quoting.office).result["mismatched"] == 0


def test_a_quote_of_an_older_engine_is_not_worked_out_again(quoting: Quoting, monkeypatch: pytest.MonkeyPatch) -> None:
    quoting.issued()
    monkeypatch.setattr(tasks, "ENGINE", ENGINE + 1)

    assert night_of(quoting.office).total == 1


def test_what_comes_to_something_else_is_told_to_the_cent_and_nothing_is_changed(
    quoting: Quoting, monkeypatch: pytest.MonkeyPatch
) -> None:
    quote = quoting.issued()

    # A fault of ours: one line comes to a cent more than it did, and the base with it.
    def a_cent_more(worked: Any) -> list[dict[str, Any]]:
        rows = line_rows(worked)
        rows[0]["amount"] = str(Decimal(rows[0]["amount"]) + Decimal("0.01"))
        return rows

    monkeypatch.setattr(tasks, "line_rows", a_cent_more)
    with structlog.testing.capture_logs() as logs:
        run = night_of(quoting.office)

    amount = quote["lines"][0]["amount"]
    mismatch = {
        "quote": quote["id"],
        "number": quote["number"],
        "revision": 1,
        "place": "lines/1/amount",
        "stored": f"{amount}0",
        "again": f"{Decimal(amount) + Decimal('0.01')}",
    }
    assert (run.state, run.result["mismatched"], run.result["mismatches"]) == ("done", 1, [mismatch])
    assert {"event": "quote_comes_to_something_else", "log_level": "error", "shop": quoting.shop.slug, **mismatch} in logs
    assert quoting.office.get(f"quotes/{quote['id']}").json() == quote


def test_a_quote_that_is_refused_today_is_told_too(quoting: Quoting, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> Any:
        raise CalculationError("expected another roof")

    quoting.issued()
    monkeypatch.setattr(recomputed, "worked_again", refuse)

    (mismatch,) = night_of(quoting.office).result["mismatches"]
    assert (mismatch["place"], mismatch["again"]) == ("quote", "refused: expected another roof")


def test_a_chunk_of_many_quotes_asks_as_often_as_one_of_few(quoting: Quoting) -> None:
    ids = [quoting.issued(reference=f"JOB {n}")["id"] for n in range(3)]
    snapshot.forget()
    counts = []
    with quoting.office.scope():
        for chosen in (ids, ids[:1], ids):
            with CaptureQueriesContext(connection) as queries:
                assert mismatches(quoting.shop, chosen, tasks._rows) == []
            counts.append(len(queries))

    # The one cost base that all three were priced on is read once.
    assert counts == [4, 3, 3]


def test_the_beat_asks_for_tasks_that_there_are() -> None:
    app = celery.current_app
    for due in app.conf.beat_schedule.values():
        assert due["task"] in app.tasks
        # What nobody took in time would only pile up.
        assert due["options"]["expires"] > 0


def test_an_offer_whose_prices_hold_no_longer_is_ended(quoting: Quoting) -> None:
    quote = quoting.issued(plan="reseal", measures=[])
    # Its prices hold for 30 days: until the first of April, the night after which begins at 02:00, 07:00 UTC by then.
    assert quote["valid_until"] == "2026-04-01"
    last_night, after = datetime(2026, 4, 1, 8, tzinfo=UTC), datetime(2026, 4, 2, 8, tzinfo=UTC)

    assert night_of(quoting.office, last_night).result["expired_offers"] == 0
    assert quoting.office.get(f"quotes/{quote['id']}").json()["state"] == "issued"
    assert night_of(quoting.office, after).result["expired_offers"] == 1
    assert quoting.office.get(f"quotes/{quote['id']}").json()["state"] == "expired"
