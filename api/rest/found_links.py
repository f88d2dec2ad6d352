"""Links by which an owner is told what was found. Nobody answers one."""

from datetime import timedelta
from typing import ClassVar

from django.http import Http404
from django.http.response import HttpResponseBase
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.owner_links import Linked, links_of
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.consent_shapes import LinkShape
from api.rest.idempotency import once
from api.rest.jobs import OFFICE, READERS
from api.rest.links import LinkFilters, LinkInput, link_again, links_shown, new_link
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import filtered
from quotes.actions.change_orders import check_payer
from quotes.actions.consents import keep_document
from quotes.actions.found_notes import must_stand
from quotes.calc.consent import document_hash
from quotes.models import FoundNote
from quotes.reports.found import found_notes
from quotes.reports.found_documents import found_document

LINK_LASTS = timedelta(days=30)


class FoundNoteLinks(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_found_note_links", "The links to a found note, newest first", answers={200: LinkShape}, filters=LinkFilters
    )
    def get(self, request: Request, job_id: int, number: int) -> Response:
        note = self._note(job_id, number)
        rows = filtered(request, links_of(self.context.shop, "found_note", note.pk), LinkFilters)
        return Response(paginate(request, rows).document(links_shown))

    @operation(
        "make_found_note_link",
        "Make a link by which an owner is told what was found",
        body=LinkInput,
        answers={201: LinkShape},
        creates=True,
        refusals=["corrected_before", "no_such_payer"],
    )
    def post(self, request: Request, job_id: int, number: int) -> HttpResponseBase:
        """Its `token` is told now and never again. It shows the note and asks for no answer; to have read it is evidence of
        nothing. Good for 30 days unless told. A note that was taken back has no link any more; the correction has its own.
        """
        return once(request, self.context, lambda: self._make(request, job_id, number), again=lambda id_: link_again(self, id_))

    def _make(self, request: Request, job_id: int, number: int) -> Response:
        shop, now = self.context.shop, timezone.now()
        note = self._note(job_id, number)
        values = body_values(request, shop, LinkInput)
        must_stand(shop, note)
        check_payer(shop, note.job, values["payer"])
        document = found_document(shop, note)
        hash_ = document_hash(document)
        keep_document(shop=shop, document="found_note", contents=document, hash_=hash_, now=now)
        linked = Linked("found_note", note.pk, note.job.quote.revision, hash_, values["payer"])
        return new_link(self, linked, values, until=now + LINK_LASTS, now=now)

    def _note(self, job_id: int, number: int) -> FoundNote:
        notes = found_notes(self.context.shop, job_id).select_related("job__quote", "corrects")
        note = notes.filter(number=number).first()
        if note is None:
            raise Http404
        return note
