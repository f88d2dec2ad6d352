"""Figures for a machine that collects them: who may ask, and what is counted."""

import re

import pytest
import redis
from django.test import Client

from api import environment
from api.rest import metrics
from tests.rest.office import office

TOKEN = "invented-metrics-token"


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch, db: None) -> Client:
    monkeypatch.setenv("METRICS_TOKEN", TOKEN)
    return Client(headers={"Authorization": f"Bearer {TOKEN}"})


def figure(page: str, name: str, **labels: str) -> float:
    """One figure of the page; 0 where it is not there yet."""
    wanted = {f'{label}="{value}"' for label, value in labels.items()}
    for line in page.splitlines():
        found = re.fullmatch(r"(\w+)(?:\{(.*)\})? (\S+)", line)
        if found and found[1] == name and wanted <= set((found[2] or "").split(",")):
            return float(found[3])
    return 0.0


def test_without_a_token_set_there_is_no_such_address(db: None) -> None:
    assert Client(headers={"Authorization": "Bearer "}).get("/metrics").status_code == 404


@pytest.mark.parametrize("sent", ["", "Bearer", "Bearer wrong", f"Bearer {TOKEN}x", "Bearer \u00e9"])
def test_who_does_not_know_the_token_finds_nothing(asked: Client, sent: str) -> None:
    assert Client(headers={"Authorization": sent}).get("/metrics").status_code == 404


def test_a_request_is_counted_by_its_pattern_with_time_and_statements(asked: Client) -> None:
    route = "api/v1/shops/<slug:shop>/coaches/<int:coach_id>"
    here, labels = office(), {"method": "GET", "route": route}
    before = asked.get("/metrics").content.decode()
    assert here.get("coaches/17").status_code == 404
    after = asked.get("/metrics").content.decode()

    def more(name: str, **more_labels: str) -> float:
        return figure(after, name, **labels, **more_labels) - figure(before, name, **labels, **more_labels)

    assert more("roofs_requests_total", status="404") == 1
    assert more("roofs_request_seconds_count") == 1
    # Token, shop, the scope's settings and the coach; what begins and ends the transaction passes no wrapper.
    assert more("roofs_request_queries_sum") >= 4
    assert "coaches/17" not in after
    assert here.shop.slug not in after


def test_an_unknown_address_and_an_invented_method_make_no_series_of_their_own(asked: Client) -> None:
    Client().get("/secret-address")
    Client().generic("INVENTED", "/secret-address")
    page = asked.get("/metrics").content.decode()
    assert "secret-address" not in page
    assert "INVENTED" not in page
    assert figure(page, "roofs_requests_total", method="other", route="", status="404") >= 2


def test_tasks_that_wait_and_runs_under_way_are_told(asked: Client) -> None:
    client = redis.Redis.from_url(environment.read().redis_url)
    with client:
        client.lpush(metrics.QUEUE, "invented", "invented")
        try:
            page = asked.get("/metrics").content.decode()
        finally:
            client.delete(metrics.QUEUE)
    assert figure(page, "roofs_queue_length") == 2
    assert figure(page, "roofs_oldest_run_seconds") == 0


def test_a_broker_that_does_not_answer_leaves_its_figure_out(asked: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("REDIS_URL", "redis://:nobody@127.0.0.1:1/0")
    page = asked.get("/metrics").content.decode()
    assert "roofs_queue_length" not in page
    assert "roofs_oldest_run_seconds" in page
