"""Jobs: what was agreed, how far the work is, what is left of the pot, and moves by hand."""

from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django.http import Http404
from django.shortcuts import get_object_or_404
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.concurrency import answer_version, require_match
from api.rest.fields import OneOfField, StrictSerializer, TextField
from api.rest.job_answers import brief_job, job_answer
from api.rest.job_shapes import BriefJobShape, JobShape
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import FlagFilter, IdFilter, filtered
from quotes.actions.job_moves import move_by_hand
from quotes.actions.jobs import held_job
from quotes.actions.priced import shop_day
from quotes.calc.job import STATES
from quotes.models import Job
from quotes.reports.jobs import brief_jobs, drawn_by_component, job_components, job_lines
from quotes.snapshot import frozen_cost_base

OFFICE = frozenset({ESTIMATOR, MANAGER})
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})


class JobFilters(django_filters.FilterSet):  # type: ignore[misc]
    number = django_filters.CharFilter(max_length=24, label="The whole number.")
    state = django_filters.ChoiceFilter(choices=[(state, state) for state in STATES], label="State.")
    customer = IdFilter(field_name="customer_id", label="Id of the customer.")
    coach = IdFilter(field_name="coach_id", label="Id of the coach.")
    fleet = IdFilter(field_name="fleet_id", label="Id of the fleet that its quote is of.")
    late = FlagFilter(field_name="late", label="Only those past their promised day and not handed over, or only others.")


class Jobs(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("list_jobs", "Jobs, newest first, without lines", answers={200: BriefJobShape}, filters=JobFilters)
    def get(self, request: Request) -> Response:
        shop = self.context.shop
        rows = filtered(request, brief_jobs(shop, shop_day(shop)), JobFilters)
        return Response(paginate(request, rows).document(_briefly))


class OneJob(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "get_job", "A job with its agreed lines, hidden components, pot and limits", answers={200: JobShape}, versioned=True
    )
    def get(self, request: Request, job_id: int) -> Response:
        """Its version goes on with every move, draw, settled count and change of what is authorised."""
        return job_response(self, request, job_id)


class MoveInput(StrictSerializer):
    to = OneOfField(STATES)
    reason = TextField(
        max_length=400, required=False, allow_blank=True, default="", help_text="Needed to cancel or stop; one line."
    )


class JobState(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "move_job",
        "Take a job to its next state",
        body=MoveInput,
        answers={200: JobShape},
        changes=True,
        refusals=["job_state", "reason_missing", "hours_logged", "settlement_missing"],
    )
    def post(self, request: Request, job_id: int) -> Response:
        """A job waits for consent as long as a change order does, and is settled by settling it; neither is done here."""
        job = held(self, job_id)
        require_match(request, job.version)
        values = body_values(request, self.context.shop, MoveInput)
        move_by_hand(shop=self.context.shop, job=job, to=values["to"], reason=values["reason"], by=self.context.actor)
        return job_response(self, request, job_id)


def held(view: ShopView, job_id: int) -> Job:
    """The job, held until the request ends; 404 where there is none."""
    job = held_job(view.context.shop, job_id)
    if job is None:
        raise Http404
    return job


def job_response(view: ShopView, request: Request, job_id: int) -> Response:
    """The job as it stands, with its ETag."""
    shop = view.context.shop
    job = get_object_or_404(brief_jobs(shop, shop_day(shop)), pk=job_id)
    answer = job_answer(
        job,
        view.identity.role,
        opens=frozen_cost_base(job).plan.opens,
        lines=job_lines(shop, job.pk),
        components=job_components(shop, job.pk),
        drawn=drawn_by_component(shop, job.pk),
    )
    return answer_version(request, job.version, Response(answer))


def _briefly(jobs: Sequence[Job]) -> list[Any]:
    return [brief_job(job) for job in jobs]
