"""How change orders are answered: by a link, at the same moment, under a policy; and that what was answered stays."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from costbase.calc.contents import write
from quotes.actions.change_orders import ChangeOrderStateError, must_be_of_work
from quotes.models import ChangeOrder, Job, Quote
from tests.rest.changing import accepted, done, drafted, found, opened, sent, wish, yes
from tests.rest.consenting import accept, by_link
from tests.rest.office import office, problem
from tests.rest.quoting import Clock
from tests.rest.test_bills_shared import logged
from tests.rest.test_idempotency import together
from tests.rest.test_overrun_policy import adopt, today
from tests.rest.test_promised_dates import accept as accept_date
from tests.rest.test_promised_dates import proposed
from tests.rest.working import at_work
from tests.scenarios.small_roof import rule
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db
__all__ = ["today"]


def link(small: SmallShop, job: Job, order: dict[str, Any], **changes: Any) -> Any:
    return small.office.post(f"jobs/{job.pk}/change-orders/{order['id']}/links", {"sent_how": "email", **changes})


def by_hand(shown: dict[str, Any], way: str, **changes: Any) -> dict[str, Any]:
    (each,) = [each for each in shown["document"]["ways"] if each["choice"] == way]
    return {
        "name": "Invented Owner",
        "options": [way],
        "document_hash": shown["document_hash"],
        "limit_with_tax": {"amount": each["limit_with_tax"], "currency": "USD"},
        "affirmed": True,
        "reviewed": True,
        **changes,
    }


def test_an_owner_accepts_a_way_by_a_link(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, found())
    token = link(small, job, order).json()["token"]

    shown = by_link(token).json()
    assert (shown["kind"], shown["state"], shown["document_hash"]) == ("change_order", "waiting", order["document_hash"])
    assert problem(by_link(token, "/acceptance", by_hand(shown, "repair", options=[])), 422)["code"] == "not_offered"
    answer = by_link(token, "/acceptance", by_hand(shown, "repair"))
    assert answer.status_code == 201, answer.content.decode()
    assert by_link(token).json()["answers"][0]["outcome"] == "accepted"
    assert small.office.get(f"jobs/{job.pk}").json()["authorised_with_tax"] == "4078.00"


def test_an_owner_declines_by_a_link(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, found())
    token = link(small, job, order).json()["token"]

    answer = by_link(token, "/refusal", {"name": "Invented Owner", "reason": "Too dear."})
    assert (answer.status_code, answer.json()["state"]) == (201, "declined")
    refused = by_link(token, "/refusal", {"name": "Invented Owner", "reason": "Not this year."})
    assert problem(refused, 409)["code"] == "change_order_state"


def test_a_link_to_an_order_that_was_sent_again_or_taken_back_is_gone(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, wish())
    token = link(small, job, order).json()["token"]
    assert problem(link(small, job, order, payer="insurer"), 422)["code"] == "no_such_payer"
    accepted(small, job, found())
    done(small, job, order, "sending")
    assert problem(by_link(token), 410)["code"] == "document_changed"

    token = link(small, job, order).json()["token"]
    assert len(small.office.get(f"jobs/{job.pk}/change-orders/{order['id']}/links").json()["results"]) == 2
    done(small, job, order, "withdrawal", {"reason": "Not wished any more."})
    assert problem(by_link(token), 410)["code"] == "document_withdrawn"
    assert problem(link(small, job, order), 409)["code"] == "change_order_state"


@pytest.mark.django_db(transaction=True)
def test_of_two_orders_that_are_accepted_at_once_one_is_told_to_be_sent_again(clock: Any) -> None:
    small = SmallShop(office())
    job = opened(small)
    orders = [sent(small, job, wish()), sent(small, job, wish())]

    answers = together(2, lambda at: done(small, job, orders[at], "acceptance", yes(orders[at])))

    assert sorted(answer.status_code for answer in answers) == [201, 409]
    (told,) = [answer for answer in answers if answer.status_code == 409]
    assert problem(told, 409)["code"] == "other_document"
    with small.office.scope():
        states = list(ChangeOrder.objects.for_shop(small.shop).order_by("state").values_list("state", flat=True))
        job = Job.objects.for_shop(small.shop).get(pk=job.pk)
    assert (states, str(job.authorised_with_tax)) == (["accepted", "waiting"], "4248.000")


def test_a_set_up_is_charged_once_by_the_order_or_by_the_note(small: SmallShop) -> None:
    job = opened(small)
    accepted(small, job, found())
    note = {"component": "opening_frame", "extent": "1 each", "note": "the front frame too"}

    drawn = small.office.post(f"jobs/{job.pk}/found-notes", note)

    assert drawn.status_code == 201, drawn.content.decode()
    assert (drawn.json()["set_up"], drawn.json()["amount"]) == ("0.00", "87.71")
    again = drafted(small, job, found())
    assert [way["price"] for way in again["ways"]] == ["87.71", "0.00"]


def test_a_draft_of_many_lines_takes_no_more_queries_than_one_of_few(small: SmallShop) -> None:
    job = opened(small)
    hours = [{"trade": "technician", "hours": "1", "reason": f"place {at}"} for at in range(20)]
    counts = []
    for count in (1, 1, 20):
        with CaptureQueriesContext(connection) as queries:
            drafted(small, job, wish({"way": "repair", "words": "Seams.", "hours": hours[:count]}))
        counts.append(len(queries))
    assert counts[1] == counts[2]


def test_an_order_against_a_quote_that_is_not_the_accepted_one_is_refused() -> None:
    # An accepted quote stays accepted by a trigger; whoever gets past that is refused by name.
    job = Job(state="opening_up", quote=Quote(number="Q-2026-1", state="superseded"))

    with pytest.raises(ChangeOrderStateError, match="Q-2026-1 is superseded"):
        must_be_of_work(job, doing="changed by an order")


def test_what_was_answered_stays(small: SmallShop) -> None:
    job = opened(small)
    order = accepted(small, job, wish())

    for table, where in (
        ("quotes_changeorder", "id"),
        ("quotes_changeorderway", "change_order_id"),
        ("quotes_changeorderline", "way_id IN (SELECT id FROM quotes_changeorderway WHERE change_order_id"),
    ):
        close = ")" if "IN" in where else ""
        with small.office.scope(), pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {table} WHERE {where} = {order['id']}{close}")
    with small.office.scope(), pytest.raises(IntegrityError), transaction.atomic():
        ChangeOrder.objects.for_shop(small.shop).filter(pk=order["id"]).update(amount=1)


def test_an_order_is_carried_as_far_as_an_adopted_policy_allows(small: SmallShop, today: Clock) -> None:
    assert adopt(small.office, "us-mi").status_code == 201
    quote = small.issued()
    job_id = accept(small, quote["id"]).json()["job"]
    with small.office.scope():
        job = at_work(small, Job.objects.for_shop(small.shop).get(pk=job_id), "opening_up")
    # 0.4 h are 40.00 and 3.20 of overhead: 3,672.70, tax 303.00, 3,976.00: 47.00 beyond 3,929.00 where 50.00 are allowed.
    less = {"way": "repair", "words": "A seam.", "hours": [{"trade": "technician", "hours": "0.4", "reason": "a seam"}]}
    order, other = drafted(small, job, wish(less)), drafted(small, job, wish(less))

    told = done(small, job, order, "carrying", {"way": "repair"})

    assert told.status_code == 200, told.content.decode()
    assert (told.json()["state"], told.json()["amount"], told.json()["authorised_with_tax"]) == ("carried", "43.20", "3929.00")
    assert told.json()["carried_under"]["template"] == "us-mi"
    refused = problem(done(small, job, other, "carrying", {"way": "repair"}), 409)
    # Both together are 93.00 beyond.
    assert (refused["code"], "93" in refused["detail"]) == ("not_carried", True)
    assert small.office.get(f"jobs/{job.pk}").json()["authorised_with_tax"] == "3929.00"


LESS = {"way": "repair", "words": "A seam.", "hours": [{"trade": "technician", "hours": "0.4", "reason": "a seam"}]}


def at_work_under(small: SmallShop, template: str) -> Job:
    """The page's job, consented to on 2 March under a template, and opened up."""
    assert adopt(small.office, template).status_code == 201
    job_id = accept(small, small.issued()["id"]).json()["job"]
    with small.office.scope():
        return at_work(small, Job.objects.for_shop(small.shop).get(pk=job_id), "opening_up")


@pytest.mark.parametrize("later", ["us-or", "none"])
def test_a_consent_to_another_day_leaves_the_policy_that_the_limit_was_signed_under(
    small: SmallShop, today: Clock, monkeypatch: pytest.MonkeyPatch, later: str
) -> None:
    monkeypatch.setattr("api.rest.promises.timezone", today)
    job = at_work_under(small, "us-mi")
    today.turn(days=1)
    assert adopt(small.office, later, "2026-03-03").status_code == 201
    proposal = proposed(small, job)
    assert accept_date(small, job, proposal, at=today.moment.isoformat()).status_code == 201
    assert small.office.get(f"jobs/{job.pk}").json()["limits"]["overrun_with_tax"] == "50.00"

    told = done(small, job, drafted(small, job, wish(LESS)), "carrying", {"way": "repair"})

    assert told.status_code == 200, told.content.decode()
    assert (told.json()["state"], told.json()["carried_under"]["template"]) == ("carried", "us-mi")


def test_a_consent_that_moves_the_limit_takes_the_policy_of_its_own_day(small: SmallShop, today: Clock) -> None:
    job = at_work_under(small, "us-mi")
    today.turn(days=1)
    assert adopt(small.office, "us-or", "2026-03-03").status_code == 201
    order = sent(small, job, wish())
    assert done(small, job, order, "acceptance", yes(order, at=today.moment.isoformat())).status_code == 201
    # A tenth of 4,248.00 or 200.00, whichever is less.
    assert small.office.get(f"jobs/{job.pk}").json()["limits"]["overrun_with_tax"] == "200.00"

    told = done(small, job, drafted(small, job, wish(LESS)), "carrying", {"way": "repair"})

    assert told.status_code == 200, told.content.decode()
    assert told.json()["carried_under"]["template"] == "us-or"


def test_what_is_carried_is_billed_beyond_the_limit_of_an_open_job_too(small: SmallShop, today: Clock) -> None:
    # 9,000.00 were logged, far above the limit. 43.20 of the order are carried beyond it: they are not cut off again.
    small.own_edition("rule", "standard", date(2020, 1, 2), **write(replace(rule(), price_basis="open")))
    assert adopt(small.office, "us-mi").status_code == 201
    quote = small.issued()
    job_id = accept(small, quote["id"]).json()["job"]
    with small.office.scope():
        job = at_work(small, Job.objects.for_shop(small.shop).get(pk=job_id), "opening_up")
    less = {"way": "repair", "words": "A seam.", "hours": [{"trade": "technician", "hours": "0.4", "reason": "a seam"}]}
    assert done(small, job, drafted(small, job, wish(less)), "carrying", {"way": "repair"}).status_code == 200
    logged(small, job, "time", "9000.00", line=1, trade="technician", quantity=Decimal(90))

    now = small.office.get(f"jobs/{job.pk}/bill").json()

    assert Decimal(now["net"]) == Decimal(quote["amounts"]["limit"]) + Decimal("43.20")
    assert Decimal(now["total"]) <= Decimal(now["authorised_with_tax"]) + Decimal(now["carried_with_tax"])
