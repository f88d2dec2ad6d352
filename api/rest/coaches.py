"""Coaches and their roofs."""

from collections.abc import Sequence
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
from api.rest.fields import FlagField, MeasureField, StrictSerializer, TextField, UuidField, WholeField
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import FlagFilter, IdFilter, filtered
from api.rest.roofs import Roof
from costbase.calc.units import MASS
from quotes.actions.coaches import (
    CoachDetails,
    add_coach,
    change_coach,
    details_of,
    remove_coach,
    retire_coach,
)
from quotes.actions.priced import shop_day
from quotes.calc.geometry import check_roof
from quotes.exchange.coaches import roof_from
from quotes.exchange.documents import stored
from quotes.models import Coach

_OFFICE = frozenset({ESTIMATOR, MANAGER})
_READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
_ROOF_REFUSALS = ("several_faults", "out_of_range", "openings_overlap")


class CoachChange(StrictSerializer):
    customer = WholeField(
        min_value=1, max_value=2**63 - 1, allow_null=True, required=False, default=None, help_text="Id of its owner."
    )
    label = TextField(max_length=100, help_text="What the shop calls it.")  # type: ignore[assignment]
    plate = TextField(max_length=20, required=False, allow_blank=True, default="")
    serial_number = TextField(max_length=40, required=False, allow_blank=True, default="")
    year = WholeField(min_value=1950, max_value=2100, allow_null=True, required=False, default=None)
    gross_weight_rating = MeasureField(
        MASS, us="lb", metric="kg", source="gross_weight", allow_null=True, required=False, default=None
    )
    roof = Roof()


class CoachInput(CoachChange):
    client_id = UuidField(required=False, allow_null=True, default=None)


class CoachBrief(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    client_id = serializers.UUIDField(allow_null=True)
    customer = serializers.IntegerField(source="customer_id", allow_null=True)
    label = serializers.CharField()  # type: ignore[assignment]
    plate = serializers.CharField()
    serial_number = serializers.CharField()
    year = serializers.IntegerField(allow_null=True)
    created = serializers.DateTimeField()
    changed = serializers.DateTimeField()
    retired_on = serializers.DateField(allow_null=True)


class CoachAnswer(CoachBrief):
    gross_weight_rating = MeasureField(MASS, us="lb", metric="kg", source="gross_weight", allow_null=True)
    roof = Roof()
    warnings = serializers.SerializerMethodField(help_text="What is unusual about the roof.")

    def get_warnings(self, coach: Coach) -> list[str]:
        return list(check_roof(roof_from(coach.roof)))


class CoachFilters(django_filters.FilterSet):  # type: ignore[misc]
    customer = IdFilter(field_name="customer_id", label="Id of the owner.")
    label = django_filters.CharFilter(lookup_expr="icontains", max_length=100, label="Part of the label, in any case.")
    plate = django_filters.CharFilter(lookup_expr="iexact", max_length=20, label="The whole plate, in any case.")
    retired = FlagFilter(field_name="retired_on", lookup_expr="isnull", exclude=True, label="Only retired, or only others.")


class Coaches(ShopView):
    roles: ClassVar = {"GET": _READERS, "POST": _OFFICE}

    @operation("list_coaches", "Coaches, newest first, without roofs", answers={200: CoachBrief}, filters=CoachFilters)
    def get(self, request: Request) -> Response:
        rows = filtered(request, Coach.objects.for_shop(self.context.shop).defer("roof", "gross_weight"), CoachFilters)
        return Response(paginate(request, rows).document(_briefly))

    @operation(
        "create_coach",
        "Add a coach with its roof",
        body=CoachInput,
        answers={201: CoachAnswer},
        creates=True,
        refusals=["already_there", *_ROOF_REFUSALS],
    )
    def post(self, request: Request) -> HttpResponseBase:
        return once(request, self.context, lambda: self._create(request))

    def _create(self, request: Request) -> Response:
        values = body_values(request, self.context.shop, CoachInput)
        client_id = values.pop("client_id")
        coach = add_coach(
            by=self.context.actor, shop=self.context.shop, details=CoachDetails(**_columns(values)), client_id=client_id
        )
        response = Response(
            _shown(self, coach),
            status=status.HTTP_201_CREATED,
            headers={"Location": f"{request.path}/{coach.pk}"},
        )
        return answer_version(request, coach.version, response)


class OneCoach(ShopView):
    roles: ClassVar = {"GET": _READERS, "PATCH": _OFFICE, "DELETE": _OFFICE}

    @operation("get_coach", "A coach with its roof", answers={200: CoachAnswer}, versioned=True)
    def get(self, request: Request, coach_id: int) -> Response:
        coach = get_object_or_404(Coach.objects.for_shop(self.context.shop), pk=coach_id)
        return answer_version(request, coach.version, Response(_shown(self, coach)))

    @operation(
        "change_coach",
        "Change a coach; the roof is replaced whole",
        body=CoachChange,
        answers={200: CoachAnswer},
        changes=True,
        refusals=["survey_no_longer_fits", *_ROOF_REFUSALS],
    )
    def patch(self, request: Request, coach_id: int) -> Response:
        """Quotes keep the roof they were worked out on. Surveys without an issued quote must fit the new one."""
        coach = locked(self, coach_id)
        require_match(request, coach.version)
        changes = _columns(body_changes(request, self.context.shop, CoachChange))
        change_coach(by=self.context.actor, coach=coach, details=replace(details_of(coach), **changes))
        return answer_version(request, coach.version, Response(_shown(self, coach)))

    @operation(
        "remove_coach", "Take a coach away that nothing refers to", answers={204: None}, changes=True, refusals=["in_use"]
    )
    def delete(self, request: Request, coach_id: int) -> Response:
        """A coach with surveys or quotes is retired instead."""
        coach = locked(self, coach_id)
        require_match(request, coach.version)
        remove_coach(by=self.context.actor, coach=coach)
        return Response(status=status.HTTP_204_NO_CONTENT)


class Retirement(StrictSerializer):
    retired = FlagField(help_text="false takes it back into use.")


class CoachRetirement(ShopView):
    roles: ClassVar = {"PUT": _OFFICE}

    @operation("retire_coach", "Retire a coach, or take it back", body=Retirement, answers={200: CoachAnswer}, changes=True)
    def put(self, request: Request, coach_id: int) -> Response:
        """Nothing new refers to a retired coach; what does already stays."""
        coach = locked(self, coach_id)
        require_match(request, coach.version)
        wanted = body_values(request, self.context.shop, Retirement)["retired"]
        # Retired twice, it keeps its first day.
        day = coach.retired_on or shop_day(self.context.shop)
        retire_coach(by=self.context.actor, coach=coach, on=day if wanted else None)
        return answer_version(request, coach.version, Response(_shown(self, coach)))


def locked(view: ShopView, coach_id: int) -> Coach:
    """The coach, held until the request ends, so that its version stays what If-Match was compared with."""
    coach: Coach = get_object_or_404(Coach.objects.for_shop(view.context.shop).select_for_update(), pk=coach_id)
    return coach


def _columns(values: dict[str, Any]) -> dict[str, Any]:
    """The values of a body under the names of `CoachDetails`, with measures as they are kept."""
    columns: dict[str, Any] = {name: stored(value) for name, value in values.items()}
    if "customer" in columns:
        columns["customer_id"] = columns.pop("customer")
    return columns


def _shown(view: ShopView, coach: Coach) -> dict[str, Any]:
    return dict(CoachAnswer(coach, context=edge_context(view.context.shop)).data)


def _briefly(coaches: Sequence[Coach]) -> list[Any]:
    return list(CoachBrief(coaches, many=True).data)
