"""On which editions is a quote priced?"""

from datetime import date

from tests.rest import bodies
from tests.rest.office import office
from tests.rest.quoting import Clock, Quoting, line_of


def test_the_shops_own_edition_comes_before_its_networks(quoting: Quoting) -> None:
    quoting.own_edition("rate", "estimator", billed_per_hour="200.00")
    assert line_of(quoting.tried(), "intake-survey", "estimator")["amount"] == "600.00"


def test_an_older_edition_of_the_shop_comes_before_a_newer_one_of_the_network(quoting: Quoting) -> None:
    quoting.own_edition("rate", "estimator", date(2021, 1, 1), billed_per_hour="200.00")
    quoting.network_edition("rate", "estimator", date(2026, 2, 1), billed_per_hour="300.00")
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "200.000000"


def test_an_edition_of_tomorrow_is_not_used_today(quoting: Quoting, clock: Clock) -> None:
    quoting.own_edition("rate", "estimator", date(2026, 3, 3), billed_per_hour="200.00")
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "125.000000"
    clock.turn(days=1)
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "200.000000"


def test_a_back_dated_edition_is_used_from_now_on_and_moves_no_kept_quote(quoting: Quoting) -> None:
    posted = quoting.draft()
    quoting.own_edition("rate", "estimator", date(2025, 6, 1), billed_per_hour="200.00")
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "200.000000"
    assert quoting.office.get(posted["Location"]).json() == posted.json()


def test_an_edition_that_was_replaced_or_withdrawn_is_seen_at_once(quoting: Quoting) -> None:
    own = quoting.own_edition("rate", "estimator", billed_per_hour="200.00")
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "200.000000"
    with quoting.office.scope():
        own.contents = {**own.contents, "billed_per_hour": "210.00"}
        own.save(update_fields=["contents"])
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "210.000000"
    with quoting.office.scope():
        own.withdrawn_on = date(2026, 3, 2)
        own.save(update_fields=["withdrawn_on"])
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "125.000000"


def test_another_shop_of_the_network_keeps_the_networks_price(quoting: Quoting) -> None:
    quoting.own_edition("rate", "estimator", billed_per_hour="200.00")
    quoting.tried()
    sister = office(network=quoting.shop.network)
    coach = sister.post("coaches", bodies.coach()).json()["id"]
    survey = sister.post("surveys", bodies.survey(coach, findings=[])).json()["id"]
    answer = sister.post("quotes/trial", {"coach": coach, "survey": survey, "plan": "full-rebuild", "skin": "frp"})
    assert line_of(answer.json(), "intake-survey", "estimator")["price"] == "125.000000"
