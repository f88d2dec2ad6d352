"""What a job looks like it will come to: the newest forecast, the steps to it, and the earlier ones."""

from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django.shortcuts import get_object_or_404
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.jobs import READERS
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import FlagFilter, filtered
from api.rest.quote_answers import COST_READERS, fixed
from api.rest.quote_whys import WhyShape, step_shown
from costbase.calc.money import currency as currency_of
from quotes.calc.teardown import WARNING_LIMITS
from quotes.calc.why.steps import number
from quotes.models import Job, JobForecast
from quotes.models.forecast import METHODS
from quotes.reports.forecasts import current_forecast, forecasts, why_of

Row = dict[str, Any]

_ANSWERED = ("id", "method", "effective", "chance_over_limit", "chance_over_pot", "warned", "warning_chance", "not_drafted")
_BILL = ("base", "pot", "limit", "found", "left")
_COST = ("expected", "p50", "p80", "p90")


class ClosedShape(serializers.Serializer[Any]):
    """One hidden component: what was opened of it, and what is left to doubt."""

    component = serializers.CharField()
    construction = serializers.CharField()
    name = serializers.CharField()
    unit = serializers.CharField()
    exposure = serializers.CharField(help_text="What the quote left to doubt.")
    opened = serializers.CharField()
    found = serializers.CharField(help_text="Rotten, of what was opened.")
    drawn = serializers.CharField(help_text="Drawn by found notes, measured or not.")
    ordered = serializers.CharField(help_text="Repaired at the agreed price by change orders in force.")
    declined = serializers.CharField(help_text="Of what was found, not to be repaired: closed up, or done by other work.")
    left = serializers.CharField(help_text="Still closed.")
    found_amount = serializers.CharField(help_text="At the agreed unit price, with the set-up.")
    chance_before = serializers.FloatField(help_text="Chance of any rot as the quote had it.")
    chance_left = serializers.FloatField(help_text="Chance that what is still closed holds any.")
    expected_left = serializers.CharField(help_text="Mean of what that would cost.")
    allowance = serializers.CharField(help_text="Its part of the quote's allowance.")


class CostForecastShape(serializers.Serializer[Any]):
    """What the job is likely to cost with this shop's productivity, at the quote's own rates and markups."""

    expected = serializers.CharField()
    p50 = serializers.CharField(help_text="5 jobs in 10 like this stay within it.")
    p80 = serializers.CharField(help_text="8 jobs in 10.")
    p90 = serializers.CharField(help_text="9 jobs in 10.")
    chance_over_limit = serializers.FloatField(help_text="Chance that the cost passes what is authorised.")


class BriefForecastShape(serializers.Serializer[Any]):
    """A forecast without its components. Amounts are before tax."""

    id = serializers.IntegerField(
        allow_null=True, help_text="null: worked out now; nothing was opened yet, or a note or an order came since."
    )
    created = serializers.DateTimeField(allow_null=True)
    opening = serializers.IntegerField(allow_null=True, help_text="The opening entry that it follows.")
    currency = serializers.CharField()
    base = serializers.CharField(help_text="Visible work, what was ordered on top included.")
    pot = serializers.CharField(help_text="What is set aside for hidden work, drawn or not, orders beyond it included.")
    limit = serializers.CharField(help_text="What was authorised.")
    found = serializers.CharField(help_text="Hidden work found so far, at agreed prices.")
    left = serializers.CharField(help_text="Mean of the hidden work in what is still closed.")
    chance_over_pot = serializers.FloatField(help_text="Chance that hidden work passes what is set aside.")
    chance_over_limit = serializers.FloatField(
        help_text="Firm: as chance_over_pot. Open: chance that the cost passes what is authorised."
    )
    method = serializers.ChoiceField(
        choices=METHODS, help_text="conjugate: too few sample points agree with what was opened, so each component by itself."
    )
    effective = serializers.FloatField(help_text="How many sample points the looks leave.")
    warned = serializers.BooleanField(help_text="The shop's level was reached.")
    warning_chance = serializers.FloatField(help_text="The shop's level: `warning_chance` of its pricing rule.")
    change_order = serializers.IntegerField(allow_null=True, help_text="The draft that this forecast made.")
    not_drafted = serializers.CharField(help_text="Warned without a draft: why there is none.")
    cost = CostForecastShape(required=False, help_text="For managers and analysts.")


class JobForecastShape(BriefForecastShape):
    closed = ClosedShape(many=True)
    warning_limits = serializers.ListField(
        child=serializers.CharField(), help_text="How far a warning, or none, can be trusted: known from invented jobs only."
    )


class ForecastFilters(django_filters.FilterSet):  # type: ignore[misc]
    warned = FlagFilter(label="Only those that warned, or only others.")


class JobForecasts(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "list_job_forecasts", "Forecasts of a job, newest first", answers={200: BriefForecastShape}, filters=ForecastFilters
    )
    def get(self, request: Request, job_id: int) -> Response:
        job = job_of(self, job_id)
        page = paginate(request, filtered(request, forecasts(self.context.shop, job.pk).defer("closed"), ForecastFilters))

        def briefly(rows: Sequence[JobForecast]) -> list[Row]:
            return [brief_forecast(row, job.currency, self.identity.role) for row in rows]

        return Response(page.document(briefly))


class LatestForecast(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_job_forecast", "What a job looks like it will come to", answers={200: JobForecastShape})
    def get(self, request: Request, job_id: int) -> Response:
        """As things stand: the newest one that was kept, or, where a note was drawn or an order taken since, worked out now and
        not kept. Before anything was opened it is the quote's own.
        """
        job = job_of(self, job_id)
        forecast = current_forecast(self.context.shop, job)
        answer = brief_forecast(forecast, job.currency, self.identity.role)
        return Response({**answer, "closed": forecast.closed, "warning_limits": list(WARNING_LIMITS)})


class ForecastWhy(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_job_forecast", "The steps from what was opened to the chance of passing the limit", answers={200: WhyShape})
    def get(self, request: Request, job_id: int) -> Response:
        """For each component patches opened and rotten, chance and share before and after. They land on a chance in percent."""
        job = job_of(self, job_id)
        forecast = current_forecast(self.context.shop, job)
        why, _ = why_of(self.context.shop, job, forecast)
        stored = number(forecast.chance_over_limit * 100)
        steps = [step_shown(step, self.identity.role) for step in why.steps]
        return Response({"of": why.of, "value": why.value, "stored": stored, "exact": why.value == stored, "steps": steps})


def job_of(view: ShopView, job_id: int) -> Job:
    """The job; 404 where there is none."""
    job: Job = get_object_or_404(Job.objects.for_shop(view.context.shop).defer("totals"), pk=job_id)
    return job


def brief_forecast(forecast: JobForecast, currency: str, role: str) -> Row:
    """A forecast without its components; what the job costs the shop is for managers and analysts."""
    digits = currency_of(currency).digits
    shown: Row = {
        **{name: getattr(forecast, name) for name in _ANSWERED},
        "created": forecast.created.isoformat() if forecast.pk else None,
        "opening": forecast.opening_id,
        "currency": currency,
        **{name: fixed(getattr(forecast, name), digits) for name in _BILL},
        "change_order": forecast.change_order_id,
    }
    if role in COST_READERS:
        shown["cost"] = {
            **{name: fixed(getattr(forecast, name), digits) for name in _COST},
            "chance_over_limit": forecast.chance_cost_over_limit,
        }
    return shown
