"""Which further look would do most to the limit of a stored quote?"""

from decimal import Decimal

from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import Quote
from tests.rest.office import office, problem
from tests.rest.quoting import Quoting


def test_the_looks_of_a_quote_stand_with_the_best_first_and_add_up(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    answer = quoting.office.get(f"quotes/{quote['id']}/next-looks", role=ESTIMATOR)
    assert answer.status_code == 200, answer.content.decode()
    told = answer.json()

    assert told["limit"] == quote["amounts"]["limit"]
    # The 34 ft coach exposes core, edge, cap backing and the fridge vent's frame; its deck and A/C frames are replaced anyway.
    assert {look["component"] for look in told["looks"]} == {"core", "edge", "cap_backing", "opening_frame"}
    gains = [Decimal(look["gain"]) for look in told["looks"]]
    assert gains == sorted(gains, reverse=True)
    for look in told["looks"]:
        assert Decimal(look["gain"]) == Decimal(told["limit"]) - Decimal(look["expected_limit"]) - Decimal(look["price"])
        assert abs(sum(finding["chance"] for finding in look["findings"]) - 1.0) < 1e-9
    # A lane is a quarter of the deck, 249.5265 / 4 sq ft; .6 of it over patches of 16 sq ft is 2.34, so two.
    lane = next(look for look in told["looks"] if look["component"] == "core")
    assert (lane["extent"], lane["unit"], lane["patches"], lane["price"]) == ("62.3816", "ft2", 2, "100.00")  # 0.8 h x 125


def test_the_number_of_queries_does_not_depend_on_the_looks(quoting: Quoting) -> None:
    path = f"quotes/{quoting.draft().json()['id']}/next-looks"
    quoting.office.get(path)
    with CaptureQueriesContext(
        connection,
    ) as seen:
        assert quoting.office.get(path, role=ANALYST).status_code == 200
    # The quote with its cost base in one; what it was worked from is kept by the process.
    assert len([query for query in seen.captured_queries if "quotes_" in query["sql"]]) == 1


def test_a_quote_of_an_older_arithmetic_is_refused(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    with quoting.office.scope():
        Quote.objects.for_shop(quoting.office.shop).filter(pk=quote["id"]).update(engine=0)
    assert problem(quoting.office.get(f"quotes/{quote['id']}/next-looks"), 409)["code"] == "older_engine"


def test_another_shop_s_quote_has_no_looks(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    assert problem(office().get(f"quotes/{quote['id']}/next-looks"), 404)
