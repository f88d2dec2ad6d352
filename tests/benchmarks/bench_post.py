"""What does a posted quote cost beside the two parts that cannot be spared: the core alone, and the insert alone?

Ratios of one run in one process: ``python -m pytest -s tests/benchmarks/bench_post.py``.
"""

import time
from collections.abc import Callable

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from quotes.calc.quote import compute_quote
from quotes.models import Quote
from quotes.reports.quotes import worked_again
from tests.rest.office import office
from tests.rest.quoting import Quoting

ROUNDS = 40


def best(work: Callable[[], object]) -> float:
    """Seconds of the fastest round."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def insert_alone(quoting: Quoting) -> Callable[[], object]:
    """The statement that wrote the last quote, ready to be sent again as text."""
    with CaptureQueriesContext(connection) as captured:
        quoting.office.post("quotes", quoting.body())
    (statement,) = [q["sql"] for q in captured.captured_queries if "INSERT INTO quotes_quoteline" in q["sql"]]

    def send() -> None:
        with quoting.office.scope(), connection.cursor() as cursor:
            cursor.execute(statement.replace("%", "%%"), [])

    return send


@pytest.mark.django_db
def test_ratios_of_a_post(capsys: pytest.CaptureFixture[str]) -> None:
    quoting = Quoting(office())
    quote_id = quoting.draft().json()["id"]
    with quoting.office.scope():
        quote = Quote.objects.for_shop(quoting.shop).select_related("cost_base").get(pk=quote_id)
        again = worked_again(quote)
    core = best(lambda: compute_quote(again.inputs, again.cost_base, again.rules, again.factors, again.points))
    alone = best(insert_alone(quoting))
    posted = best(lambda: quoting.office.post("quotes", quoting.body()))
    tried = best(lambda: quoting.office.post("quotes/trial", quoting.body()))
    with capsys.disabled():
        print(f"\na posted quote / (core + insert, each alone)  {posted / (core + alone):5.2f}")
        print(f"a trial / core alone                                  {tried / core:5.2f}")
        print(f"insert alone / core alone                             {alone / core:5.2f}")
