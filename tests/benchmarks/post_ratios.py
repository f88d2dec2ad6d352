"""The measurements of `bench_post`: a test, so that it gets the database that tests get.

The parts are measured in turns, so that a busy moment falls on all of them, and the fastest round of each counts. *Insert*: the
very statement that writes number, quote, lines and hidden components, sent again as text inside an open transaction.
"""

import time
from collections.abc import Callable

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costbase import snapshot as cost_base_snapshot
from quotes import snapshot as quotes_snapshot
from quotes.calc.quote import compute_quote
from quotes.models import Quote
from quotes.reports.quotes import worked_again
from tests.rest.office import office
from tests.rest.quoting import Quoting

ROUNDS = 60


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def core_alone(quoting: Quoting, quote_id: int) -> Callable[[], float]:
    with quoting.office.scope():
        again = worked_again(Quote.objects.for_shop(quoting.shop).get(pk=quote_id))
    return lambda: seconds(
        lambda: compute_quote(again.inputs, again.cost_base, again.rules, again.factors, again.points),
    )


def insert_alone(quoting: Quoting) -> Callable[[], float]:
    with CaptureQueriesContext(connection) as captured:
        quoting.draft()
    (statement,) = [query["sql"] for query in captured if "INSERT INTO quotes_quoteline" in query["sql"]]

    def send() -> float:
        with quoting.office.scope(), connection.cursor() as cursor:
            return seconds(lambda: cursor.execute(statement.replace("%", "%%"), []))

    return send


@pytest.mark.django_db(transaction=True)
def test_ratios_of_a_post(capsys: pytest.CaptureFixture[str]) -> None:
    quoting = Quoting(office())
    quote_id = quoting.draft().json()["id"]
    path = f"quotes/{quote_id}"
    parts: dict[str, Callable[[], float]] = {
        "core": core_alone(quoting, quote_id),
        "insert": insert_alone(quoting),
        "post": lambda: seconds(quoting.draft),
        "trial": lambda: seconds(quoting.tried),
        "read": lambda: seconds(lambda: quoting.office.get(path)),
        "why": lambda: seconds(lambda: quoting.office.get(f"{path}/lines/5/why")),
    }
    best = dict.fromkeys(parts, float("inf"))
    for _ in range(ROUNDS):
        for name, part in parts.items():
            best[name] = min(best[name], part())
    cost_base_snapshot.forget()
    quotes_snapshot.forget()
    cold = seconds(quoting.draft)
    parted = best["core"] + best["insert"]
    with capsys.disabled():
        print()
        print(f"a posted quote / (core alone + insert alone)   {best['post'] / parted:5.2f}")
        # Mark: a bare POST of 25 lines through the framework took 4.3 x the insert of its rows.
        print(f"a posted quote less the core / insert alone    {(best['post'] - best['core']) / best['insert']:5.2f}")
        print(f"a trial / core alone                           {best['trial'] / best['core']:5.2f}")
        print(f"a quote read / core alone                      {best['read'] / best['core']:5.2f}")
        print(f"why of a line / core alone                     {best['why'] / best['core']:5.2f}")
        print(f"insert alone / core alone                      {best['insert'] / best['core']:5.2f}")
        print(f"a posted quote, no edition read before / warm  {cold / best['post']:5.2f}")
