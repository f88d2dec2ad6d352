"""Condition surveys of coaches."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_changes, body_values, edge_context
from api.rest.concurrency import answer_version, require_match
from api.rest.fields import DayField, OneOfField, UuidField, WholeField
from api.rest.idempotency import once
from api.rest.marks import Marks, field_in_body, marks_kept, marks_shown
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import IdFilter, filtered
from costbase.calc.errors import CalculationError, CalculationFaults
from quotes.actions.surveys import (
    SurveyDetails,
    add_survey,
    change_survey,
    details_of,
    remove_survey,
)
from quotes.models import Coach, Survey
from quotes.models.survey import METHODS

_OFFICE = frozenset({ESTIMATOR, MANAGER})
_READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
_MARK_REFUSALS = ("survey_locked", "several_faults", "mark_off_roof", "unknown_finding", "not_in_force")


class SurveyChange(Marks):
    method = OneOfField(METHODS, help_text="How it was made, by the most thorough way.")
    made_on = DayField()


class SurveyInput(SurveyChange):
    coach = WholeField(min_value=1, max_value=2**63 - 1, help_text="Id of the coach.")
    client_id = UuidField(required=False, allow_null=True, default=None)


class SurveyBrief(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    client_id = serializers.UUIDField(allow_null=True)
    coach = serializers.IntegerField(source="coach_id")
    method = serializers.ChoiceField(choices=METHODS)
    made_on = serializers.DateField()
    created = serializers.DateTimeField()
    changed = serializers.DateTimeField()
    locked_on = serializers.DateField(allow_null=True, help_text="When a quote was issued on it; it stays as it is.")


class SurveyAnswer(SurveyBrief, Marks):
    pass


class SurveyFilters(django_filters.FilterSet):  # type: ignore[misc]
    coach = IdFilter(field_name="coach_id", label="Id of the coach.")
    method = django_filters.ChoiceFilter(choices=[(method, method) for method in METHODS], label="How it was made.")
    made_from = django_filters.DateFilter(field_name="made_on", lookup_expr="gte", label="Made on that day or later.")
    made_until = django_filters.DateFilter(field_name="made_on", lookup_expr="lte", label="Made on that day or before.")


class Surveys(ShopView):
    roles: ClassVar = {"GET": _READERS, "POST": _OFFICE}

    @operation("list_surveys", "Surveys, newest first, without marks", answers={200: SurveyBrief}, filters=SurveyFilters)
    def get(self, request: Request) -> Response:
        rows = filtered(request, Survey.objects.for_shop(self.context.shop).defer("document"), SurveyFilters)
        return Response(paginate(request, rows).document(_briefly))

    @operation(
        "create_survey",
        "Add a survey of a coach",
        body=SurveyInput,
        answers={201: SurveyAnswer},
        creates=True,
        refusals=["already_there", "other_shop", "retired", *_MARK_REFUSALS],
    )
    def post(self, request: Request) -> HttpResponseBase:
        return once(request, self.context, lambda: self._create(request))

    def _create(self, request: Request) -> Response:
        values = body_values(request, self.context.shop, SurveyInput)
        details = SurveyDetails(method=values["method"], made_on=values["made_on"], document=marks_kept(values))
        with _places_of_the_body():
            survey = add_survey(
                by=self.context.actor,
                shop=self.context.shop,
                coach_id=values["coach"],
                details=details,
                client_id=values["client_id"],
            )
        response = Response(
            _shown(self, survey),
            status=status.HTTP_201_CREATED,
            headers={"Location": f"{request.path}/{survey.pk}"},
        )
        return answer_version(request, survey.version, response)


class OneSurvey(ShopView):
    roles: ClassVar = {"GET": _READERS, "PATCH": _OFFICE, "DELETE": _OFFICE}

    @operation("get_survey", "A survey with its marks", answers={200: SurveyAnswer}, versioned=True)
    def get(self, request: Request, survey_id: int) -> Response:
        survey = get_object_or_404(Survey.objects.for_shop(self.context.shop), pk=survey_id)
        return answer_version(request, survey.version, Response(_shown(self, survey)))

    @operation(
        "change_survey",
        "Change a survey; lists are replaced whole",
        body=SurveyChange,
        answers={200: SurveyAnswer},
        changes=True,
        refusals=_MARK_REFUSALS,
    )
    def patch(self, request: Request, survey_id: int) -> Response:
        """Until a quote is issued on it; after that, make a new survey."""
        survey = locked(self, survey_id)
        require_match(request, survey.version)
        changes = body_changes(request, self.context.shop, SurveyChange)
        present = details_of(survey)
        details = replace(
            present,
            **{name: changes[name] for name in ("method", "made_on") if name in changes},
            document={**present.document, **marks_kept(changes)},
        )
        with _places_of_the_body():
            change_survey(by=self.context.actor, survey=survey, details=details)
        return answer_version(request, survey.version, Response(_shown(self, survey)))

    @operation(
        "remove_survey",
        "Take a survey away that no quote refers to",
        answers={204: None},
        changes=True,
        refusals=["survey_locked", "in_use"],
    )
    def delete(self, request: Request, survey_id: int) -> Response:
        survey = locked(self, survey_id)
        require_match(request, survey.version)
        remove_survey(by=self.context.actor, survey=survey)
        return Response(status=status.HTTP_204_NO_CONTENT)


def locked(view: ShopView, survey_id: int) -> Survey:
    """The survey and its coach, held until the request ends: the version stays, and the roof under the marks too."""
    shop = view.context.shop
    # The coach first, as a change of the coach does: two requests that lock in two orders wait for each other.
    coach_id = get_object_or_404(Survey.objects.for_shop(shop), pk=survey_id).coach_id
    coach = get_object_or_404(Coach.objects.for_shop(shop).select_for_update(), pk=coach_id)
    survey: Survey = get_object_or_404(Survey.objects.for_shop(shop).select_for_update(), pk=survey_id)
    survey.coach = coach
    return survey


@contextmanager
def _places_of_the_body() -> Iterator[None]:
    """Gives the core's refusals the places that the client knows."""
    try:
        yield
    except CalculationError as error:
        for fault in error.faults if isinstance(error, CalculationFaults) else (error,):
            fault.field = field_in_body(fault.field)
        raise


def _shown(view: ShopView, survey: Survey) -> dict[str, Any]:
    brief = SurveyBrief(survey).data
    marks = Marks(marks_shown(survey.document), context=edge_context(view.context.shop)).data
    return {**brief, **marks}


def _briefly(surveys: Sequence[Survey]) -> list[Any]:
    return list(SurveyBrief(surveys, many=True).data)
