"""A change order, as an owner's link opens it: one of its ways is accepted, or all of them are declined.

The way is the one option that is ticked, under the name that the document gives it (`choice`).
"""

from collections.abc import Sequence

from django.http import Http404

from api.rest.errors import Problem
from api.rest.owner_kinds import OwnerAnswered, OwnerDocument, OwnerVisit, OwnerYes, ShownDocument, gone
from quotes.actions.change_order_answers import WayAccepted, accept_change_order, decline_change_order
from quotes.actions.consents import Given
from quotes.actions.jobs import held_job
from quotes.models import ChangeOrder, Job

CHOICES = "Expected the one way that is accepted as the option that is ticked"


def _read(visit: OwnerVisit, options: Sequence[str]) -> ShownDocument:
    order = _found(visit)
    if options:
        raise Problem("not_offered", "All ways stand side by side in this document; tick one when accepting it.")
    return ShownDocument(order.document, order.document_hash, order.state)


def _accept(visit: OwnerVisit, yes: OwnerYes) -> OwnerAnswered:
    job, order = _held(visit)
    offered = {way["choice"]: way["way"] for way in order.document["ways"]}
    chosen = [offered[option] for option in yes.options if option in offered]
    if len(yes.options) != 1 or not chosen:
        raise Problem("not_offered", f"{CHOICES}: {', '.join(offered)}.")
    accepted = WayAccepted(yes.given, chosen[0], yes.document_hash, yes.limit_with_tax)
    consent = accept_change_order(
        shop=visit.shop, job=job, order=order, accepted=accepted, by=visit.actor, now=visit.now
    )  # fmt: skip
    return OwnerAnswered(order.state, consent)


def _decline(visit: OwnerVisit, given: Given, reason: str) -> OwnerAnswered:
    job, order = _held(visit)
    consent = decline_change_order(
        shop=visit.shop, job=job, order=order, given=given, reason=reason, by=visit.actor, now=visit.now
    )  # fmt: skip
    return OwnerAnswered(order.state, consent)


def _found(visit: OwnerVisit) -> ChangeOrder:
    order = ChangeOrder.objects.for_shop(visit.shop).filter(pk=visit.link.document_id).first()
    if order is None:
        raise Http404
    if order.state == "withdrawn":
        raise gone("withdrawn", "The shop has taken this change order back.")
    if order.document_hash != visit.link.document_hash:
        raise gone("changed", "This change order was sent again since; ask the shop for a link to that.")
    return order


def _held(visit: OwnerVisit) -> tuple[Job, ChangeOrder]:
    job = held_job(visit.shop, _found(visit).job_id)
    if job is None:
        raise Http404
    return job, _found(visit)


DOCUMENT = OwnerDocument(read=_read, accept=_accept, decline=_decline)
