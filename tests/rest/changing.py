"""What the tests of change orders ask for: jobs at work, orders drafted, sent and answered."""

from typing import Any

from quotes.models import Job
from tests import make
from tests.rest.quoting import Quoting
from tests.rest.working import at_work, booked

Body = dict[str, Any]

AT = make.NOW.isoformat()
# The change of DEVELOPERS.md section 1, step 12: 294.73.
PATCH: Body = {
    "way": "repair",
    "words": "A patch of 72 sq ft, glued on top.",
    "hours": [{"trade": "technician", "hours": "2", "phase": "skin", "reason": "the patch"}],
    "materials": [{"material": "adhesive", "net": "0.9", "reason": "the patch"}],
}
FRAME: Body = {
    "way": "repair",
    "words": "A new frame at the rear vent.",
    "repairs": [{"component": "opening_frame", "extent": "1"}],
}
STOP: Body = {"way": "stop", "words": "Work ends here."}
CLOSE_UP: Body = {"way": "close_up", "words": "The place is closed up as it was found."}


def opened(quoting: Quoting, **changes: Any) -> Job:
    """A job whose roof is being opened up."""
    return at_work(quoting, booked(quoting, **changes), "opening_up")


def wish(*ways: Body, **changes: Any) -> Body:
    """A wish of the owner, of the page's patch."""
    return {"cause": "owner_wish", "title": "A patch", "ways": list(ways or (PATCH,)), **changes}


def found(*ways: Body, **changes: Any) -> Body:
    """What was found beyond the pot, with two ways to go on."""
    order = {
        "cause": "beyond_pot",
        "component": "opening_frame",
        "title": "The rear frame",
        "ways": list(ways or (FRAME, STOP)),
    }
    return {**order, **changes}


def drafted(quoting: Quoting, job: Job, body: Body, **kwargs: Any) -> Body:
    answer = quoting.office.post(f"jobs/{job.pk}/change-orders", body, **kwargs)
    assert answer.status_code == 201, answer.content.decode()
    order: Body = answer.json()
    return order


def done(quoting: Quoting, job: Job, order: Body, what: str, body: Body | None = None, **kwargs: Any) -> Any:
    """The answer to doing something with the order as it stands."""
    path = f"jobs/{job.pk}/change-orders/{order['id']}"
    tag = quoting.office.get(path)["ETag"]
    return quoting.office.post(f"{path}/{what}", body or {}, headers={"If-Match": tag}, **kwargs)


def sent(quoting: Quoting, job: Job, body: Body) -> Body:
    answer = done(quoting, job, drafted(quoting, job, body), "sending")
    assert answer.status_code == 200, answer.content.decode()
    order: Body = answer.json()
    return order


def yes(order: Body, way: str = "repair", **changes: Any) -> Body:
    """A written acceptance of a way of an order, as it was shown."""
    (shown,) = [each for each in order["document"]["ways"] if each["way"] == way]
    return {
        "manner": "written",
        "name": "Invented Owner",
        "at": AT,
        "way": way,
        "document_hash": order["document_hash"],
        "limit_with_tax": {"amount": shown["limit_with_tax"], "currency": "USD"},
        **changes,
    }


def no(**changes: Any) -> Body:
    return {"manner": "written", "name": "Invented Owner", "at": AT, "reason": "Not this year.", **changes}


def accepted(quoting: Quoting, job: Job, body: Body, way: str = "repair") -> Body:
    """An order that was sent and accepted, as answered."""
    order = sent(quoting, job, body)
    answer = done(quoting, job, order, "acceptance", yes(order, way))
    assert answer.status_code == 201, answer.content.decode()
    return order
