"""Two who answer one offer at the same moment, each over a connection of its own."""

from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest

from quotes.actions.accepting import expire_offers
from quotes.models import Consent, Job, Quote
from tests import make
from tests.rest.consenting import SMALL, acceptance, by_link, consents, make_link, post, refusal, yes
from tests.rest.quoting import Body, Quoting
from tests.rest.test_idempotency import together
from tests.rest.test_quote_alternatives import add

pytestmark = pytest.mark.django_db(transaction=True)


def counts(quoting: Quoting) -> tuple[int, int]:
    with quoting.office.scope():
        return Job.objects.for_shop(quoting.shop).count(), Consent.objects.for_shop(quoting.shop).count()


def test_of_two_acceptances_one_books_the_job(quoting: Quoting) -> None:
    quote = quoting.issued(**SMALL)
    body = acceptance(quoting, quote["id"])
    answers = together(4, lambda _: post(quoting, f"quotes/{quote['id']}/acceptance", body))
    assert Counter(answer.status_code for answer in answers) == {201: 1, 409: 3}
    assert {answer.json()["code"] for answer in answers if answer.status_code == 409} == {"quote_state"}
    assert counts(quoting) == (1, 1)


def test_of_the_desk_and_a_link_one_books_the_job(quoting: Quoting) -> None:
    quote = quoting.issued(**SMALL)
    body, token = acceptance(quoting, quote["id"]), make_link(quoting, quote["id"])["token"]
    sent = yes(by_link(token).json())

    def ask(number: int) -> Any:
        if number % 2:
            return by_link(token, "/acceptance", sent)
        return post(quoting, f"quotes/{quote['id']}/acceptance", body)

    answers = together(4, ask)
    # Where the link was first, its second click is told the same; where the desk was, it alone is answered.
    assert Counter(answer.status_code for answer in answers) in ({201: 1, 409: 3}, {201: 2, 409: 2})
    assert len({answer.content for answer in answers if answer.status_code == 201}) == 1
    assert counts(quoting) == (1, 1)


def test_of_two_alternatives_one_is_accepted(quoting: Quoting) -> None:
    first = quoting.draft(**SMALL).json()
    second = add(quoting, first["id"], label="Again", **SMALL).json()
    quoting.issue(first["id"])
    bodies: dict[int, Body] = {one["id"]: acceptance(quoting, one["id"]) for one in (first, second)}
    ids = [first["id"], second["id"]]
    answers = together(4, lambda n: post(quoting, f"quotes/{ids[n % 2]}/acceptance", bodies[ids[n % 2]]))
    assert Counter(answer.status_code for answer in answers) == {201: 1, 409: 3}
    with quoting.office.scope():
        states = Quote.objects.for_shop(quoting.shop).values_list("state", flat=True)
        assert sorted(states) == ["accepted", "superseded"]
    assert counts(quoting) == (1, 1)


def test_a_yes_and_a_no_stand_one_after_the_other(quoting: Quoting) -> None:
    quote = quoting.issued(**SMALL)
    body = acceptance(quoting, quote["id"])
    ways = [("acceptance", body), ("refusal", refusal())]
    answers = together(2, lambda n: post(quoting, f"quotes/{quote['id']}/{ways[n][0]}", ways[n][1]))
    assert sorted(answer.status_code for answer in answers) == [201, 409]
    assert consents(quoting, quote["id"])["intact"]
    jobs, records = counts(quoting)
    assert (records, jobs) == (1, int(answers[0].status_code == 201))


@pytest.mark.parametrize("round_", range(3))
def test_an_offer_is_accepted_or_over_never_both(quoting: Quoting, round_: int) -> None:
    quotes = [quoting.issued(**SMALL) for _ in range(3)]
    sent = [acceptance(quoting, quote["id"]) for quote in quotes]
    after = date.fromisoformat(quotes[0]["valid_until"]) + timedelta(days=1)

    def ask(number: int) -> Any:
        if number == round_:
            with quoting.office.scope():
                return expire_offers(shop=quoting.shop, day=after, by=make.OPERATOR)
        at = number if number < round_ else number - 1
        return post(quoting, f"quotes/{quotes[at]['id']}/acceptance", sent[at])

    answers = together(4, ask)
    ended = answers.pop(round_)
    accepted = sum(answer.status_code == 201 for answer in answers)
    assert all(answer.status_code in (201, 409) for answer in answers)
    with quoting.office.scope():
        states = Counter(Quote.objects.for_shop(quoting.shop).values_list("state", flat=True))
    assert (states["accepted"], states["expired"], states["issued"]) == (accepted, ended, 0)
    assert accepted + ended == 3
    assert counts(quoting) == (accepted, accepted)
