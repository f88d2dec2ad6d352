"""What a job took so far, and what of it nobody quoted: to be seen on the same day, while it can still be spoken about."""

from collections.abc import Mapping
from typing import Any, ClassVar

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.entries import job_at
from api.rest.entry_answers import EntryShape, entry_rows, entry_shown
from api.rest.jobs import READERS
from api.rest.openapi import operation, query
from api.rest.queries import day_parameter, known_parameters
from api.rest.quote_answers import COST_READERS, fixed
from costbase.calc.money import currency
from quotes.calc.ledger import Sum
from quotes.models import ChangeOrder, WarrantyReturn
from quotes.reports.ledger import NotQuoted, costs_of, not_quoted, not_quoted_entries, standing

Row = dict[str, Any]

# More entries than a screen shows are looked up in the list of the job's entries.
MOST_SHOWN = 200
_DAY = query("day", "Only what was logged for this day; all days unless told.", OpenApiTypes.DATE)
_COST = "For managers and analysts."


class LedgerSumShape(serializers.Serializer[Any]):
    hours = serializers.CharField(help_text="Of work on the job.")
    cost = serializers.CharField()
    value = serializers.CharField(help_text="At the billed rates and markups that the job was sold on.")


class KeyedLedgerSumShape(LedgerSumShape):
    key = serializers.CharField(
        help_text="Kind of entry, position of the line, slug of the component, number of order or return."
    )


class JobCostsShape(serializers.Serializer[Any]):
    currency = serializers.CharField()
    total = LedgerSumShape()
    not_quoted = LedgerSumShape()
    by_kind = KeyedLedgerSumShape(many=True)
    by_line = KeyedLedgerSumShape(many=True)
    by_component = KeyedLedgerSumShape(many=True)
    by_change_order = KeyedLedgerSumShape(many=True)
    by_return = KeyedLedgerSumShape(many=True)


class NotQuotedJobShape(serializers.Serializer[Any]):
    job = serializers.IntegerField()
    number = serializers.CharField()
    hours = serializers.CharField()
    value = serializers.CharField(help_text="At the billed rates and markups that the job was sold on.")
    cost = serializers.CharField(required=False, help_text=_COST)


class NotQuotedShape(serializers.Serializer[Any]):
    currency = serializers.CharField()
    jobs = NotQuotedJobShape(many=True, help_text="Each job on which anything is not quoted.")
    entries = EntryShape(many=True, help_text=f"The newest {MOST_SHOWN} that stand; what was taken back is left out.")


class JobCostsView(ShopView):
    roles: ClassVar = {"GET": COST_READERS}

    @operation("get_job_costs", "What a job took so far", answers={200: JobCostsShape})
    def get(self, request: Request, job_id: int) -> Response:
        """Sums over all entries, corrections taken off: by kind, by line, hidden component, change order and return. What
        belongs to none of these is not quoted, so that the five add up to the total.
        """
        job = job_at(self, job_id)
        shop = self.context.shop
        costs = costs_of(shop, [job.pk])[job.pk]
        orders = ChangeOrder.objects.for_shop(shop).filter(pk__in=costs.by_order)
        numbers = dict(orders.values_list("pk", "number"))
        returns = WarrantyReturn.objects.for_shop(shop).filter(pk__in=costs.by_return)
        came = dict(returns.values_list("pk", "number"))
        digits = currency(job.currency).digits
        return Response(
            {
                "currency": job.currency,
                "total": _sum(costs.total, digits),
                "not_quoted": _sum(costs.not_quoted, digits),
                "by_kind": _keyed(costs.by_kind, digits),
                "by_line": _keyed(costs.by_line, digits),
                "by_component": _keyed(costs.by_component, digits),
                "by_change_order": _keyed({numbers[id_]: each for id_, each in costs.by_order.items()}, digits),
                "by_return": _keyed({came[id_]: each for id_, each in costs.by_return.items()}, digits),
            }
        )


class JobNotQuoted(ShopView):
    roles: ClassVar = {"GET": READERS}

    @extend_schema(parameters=[_DAY])
    @operation(
        "get_job_not_quoted",
        "Hours and goods of a job that belong to nothing that was quoted",
        answers={200: NotQuotedShape},
        refusals=["bad_parameter", "unknown_parameter"],
    )
    def get(self, request: Request, job_id: int) -> Response:
        """From the moment at which they are logged. Cost is for managers and analysts."""
        return _not_quoted(self, request, job_at(self, job_id).pk)


class ShopNotQuoted(ShopView):
    roles: ClassVar = {"GET": READERS}

    @extend_schema(parameters=[_DAY])
    @operation(
        "get_not_quoted",
        "Hours and goods of all jobs that belong to nothing that was quoted",
        answers={200: NotQuotedShape},
        refusals=["bad_parameter", "unknown_parameter"],
    )
    def get(self, request: Request) -> Response:
        """As of one job."""
        return _not_quoted(self, request, None)


def _not_quoted(view: ShopView, request: Request, job_id: int | None) -> Response:
    known_parameters(request, ("day",))
    day = day_parameter(request, "day")
    shop, role = view.context.shop, view.identity.role
    digits = currency(shop.currency).digits
    entries = entry_rows(standing(shop, not_quoted_entries(shop, job_id=job_id, day=day))).order_by("-pk")[:MOST_SHOWN]
    return Response(
        {
            "currency": shop.currency,
            "jobs": [_job(each, digits, role) for each in not_quoted(shop, job_id=job_id, day=day)],
            "entries": [entry_shown(entry, shop, role) for entry in entries],
        }
    )


def _job(each: NotQuoted, digits: int, role: str) -> Row:
    shown: Row = {"job": each.job, "number": each.number, "hours": str(each.hours), "value": fixed(each.value, digits)}
    return {**shown, "cost": fixed(each.cost, digits)} if role in COST_READERS else shown


def _sum(each: Sum, digits: int) -> Row:
    return {"hours": str(each.hours), "cost": fixed(each.cost, digits), "value": fixed(each.value, digits)}


def _keyed(sums: Mapping[Any, Sum], digits: int) -> list[Row]:
    return [{"key": str(key), **_sum(each, digits)} for key, each in sorted(sums.items())]
