"""The ledger of a shop: hours, goods and invoices by batches, as a tablet or an office sends them."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import django_filters
from django.db.models import QuerySet
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.entry_answers import EntryShape, LoggedShape, entry_rows, entry_shown, logged_answer
from api.rest.entry_requests import EntriesInput, EntryCorrectionInput, JobEntriesInput, said_of
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.payers import OFFICE, READERS
from api.rest.queries import DayFilter, FlagFilter, IdFilter, filtered
from quotes.actions.ledger import log_entries
from quotes.actions.ledger_corrections import Correction, correct_entry
from quotes.calc.ledger import KINDS
from quotes.models import Job, LedgerEntry

REFUSALS = (
    "entry_member", "other_shop", "bad_entry_day", "too_many_hours", "unknown_place", "before_return", "covered_work",
    "said_otherwise", "late_entry", "retired", "job_state", "no_rate", "no_material", "no_price", "no_markup",
    "several_faults", "bad_amount", "edition_unreadable",
)  # fmt: skip


class EntryFilters(django_filters.FilterSet):  # type: ignore[misc]
    kind = django_filters.ChoiceFilter(choices=[(kind, kind) for kind in KINDS], label="Kind of entry.")
    day = DayFilter(label="A day of the shop's calendar.")
    worker = IdFilter(field_name="worker_id", label="Id of a worker.")
    warranty_return = IdFilter(field_name="warranty_return_id", label="Id of a return under warranty.")
    late = FlagFilter(label="Only what came after the job was closed, or only others.")


class Entries(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_entries", "Entries of the shop's ledger, newest first", answers={200: EntryShape}, filters=EntryFilters)
    def get(self, request: Request) -> Response:
        """What was ever logged, corrections beside what they take back. Cost and rate are for managers and analysts."""
        return _listed(self, request, LedgerEntry.objects.for_shop(self.context.shop))

    @operation(
        "log_entries",
        "Log a batch of entries, each on its own job",
        body=EntriesInput,
        answers={200: LoggedShape},
        creates=True,
        refusals=REFUSALS,
    )
    def post(self, request: Request) -> HttpResponseBase:
        """All of the batch or nothing. An entry whose client_id is there and says the same is answered as `there`; one that
        says something else refuses the batch.
        """
        return once(request, self.context, lambda: self._log(request))

    def _log(self, request: Request) -> Response:
        return _logged(self, body_values(request, self.context.shop, EntriesInput))


class JobEntries(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_job_entries", "Entries of a job, newest first", answers={200: EntryShape}, filters=EntryFilters)
    def get(self, request: Request, job_id: int) -> Response:
        """As the entries of the shop."""
        job = job_at(self, job_id)
        return _listed(self, request, LedgerEntry.objects.for_shop(self.context.shop).filter(job_id=job.pk))

    @operation(
        "log_job_entries",
        "Log a batch of entries on a job",
        body=JobEntriesInput,
        answers={200: LoggedShape},
        creates=True,
        refusals=REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """As a batch of the shop, with all entries but other hours on this job."""
        return once(request, self.context, lambda: self._log(request, job_id))

    def _log(self, request: Request, job_id: int) -> Response:
        job = job_at(self, job_id)
        return _logged(self, body_values(request, self.context.shop, JobEntriesInput), job.pk)


class EntryCorrection(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "correct_entry",
        "Take an entry back, and log what is right",
        body=EntryCorrectionInput,
        answers={200: LoggedShape},
        creates=True,
        refusals=[*REFUSALS, "not_correctable"],
    )
    def post(self, request: Request, entry_id: int) -> HttpResponseBase:
        """By an entry with the same figures and the other sign, on the same day. An entry is corrected once; what replaced it
        may be corrected in its turn. Sent again, it is answered as `there`.
        """
        return once(request, self.context, lambda: self._correct(request, entry_id))

    def _correct(self, request: Request, entry_id: int) -> Response:
        shop = self.context.shop
        entry = get_object_or_404(LedgerEntry.objects.for_shop(shop), pk=entry_id)
        values = body_values(request, shop, EntryCorrectionInput)
        right = said_of(values["entry"], None) if values["entry"] else None
        logged = correct_entry(
            shop=shop,
            entry=entry,
            correction=Correction(values["client_id"], values["note"], right),
            by=self.context.actor,
            now=timezone.now(),
            may_be_late=may_be_late(self),
        )
        return Response(logged_answer(logged))


def job_at(view: ShopView, job_id: int) -> Job:
    """The job of the address.

    Raises:
        Http404: the shop has no such job.
    """
    job: Job = get_object_or_404(Job.objects.for_shop(view.context.shop).defer("totals"), pk=job_id)
    return job


def may_be_late(view: ShopView) -> bool:
    """Whether who asks may log on a closed job."""
    return view.identity.role == MANAGER


def _logged(view: ShopView, values: Mapping[str, Any], job_id: int | None = None) -> Response:
    logged = log_entries(
        shop=view.context.shop,
        entries=[said_of(entry, job_id) for entry in values["entries"]],
        by=view.context.actor,
        now=timezone.now(),
        may_be_late=may_be_late(view),
    )
    return Response(logged_answer(logged))


def _listed(view: ShopView, request: Request, rows: QuerySet[LedgerEntry]) -> Response:
    chosen = filtered(request, rows, EntryFilters)
    role, shop = view.identity.role, view.context.shop

    def shown(entries: Sequence[LedgerEntry]) -> list[Any]:
        return [entry_shown(entry, shop, role) for entry in entries]

    return Response(paginate(request, entry_rows(chosen)).document(shown))
