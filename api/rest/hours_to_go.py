"""How many hours has a job to go, if so much of its lines is done?"""

from typing import Any, ClassVar

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.fields import ShareField, StrictSerializer, WholeField
from api.rest.forecasts import job_of
from api.rest.jobs import OFFICE
from api.rest.openapi import operation
from quotes.reports.hours_to_go import Earned, hours_to_go

MOST_LINES = 500
_ASSUMES = (
    "The rest goes as the work so far did, whatever its trade, and shares are counted in finished cells and lengths. Hours of "
    "no line count, those of hidden work and change orders do not. The index is drawn towards 1 as if 40 hours went to plan, "
    "which is a judgement that no real job has tested."
)


class EarnedInput(StrictSerializer):
    position = WholeField(min_value=1, max_value=1_000_000, help_text="Of a line of labour of the job.")
    earned_share = ShareField(places=4, help_text="How much of its work is done.")


class HoursToGoInput(StrictSerializer):
    lines = EarnedInput(many=True, max_length=MOST_LINES, help_text="Of a line that is not named nothing is done.")


class HoursToGoShape(serializers.Serializer[Any]):
    planned = serializers.CharField(help_text="Hours of the agreed lines.")
    earned = serializers.CharField(help_text="Planned hours of what is done.")
    actual = serializers.CharField(help_text="Hours that were worked for it.")
    index = serializers.CharField(help_text="(40 + earned) / (40 + actual): above 1 is faster than planned.")
    to_go = serializers.CharField(help_text="(planned - earned) / index.")
    at_completion = serializers.CharField(help_text="actual + to_go.")
    assumes = serializers.CharField()


class HoursToGo(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "work_out_hours_to_go",
        "Work out the hours that a job has to go, and keep nothing",
        body=HoursToGoInput,
        answers={200: HoursToGoShape},
        refusals=["bad_progress"],
    )
    def post(self, request: Request, job_id: int) -> Response:
        """From what is done of each line and the hours in the ledger."""
        job = job_of(self, job_id)
        values = body_values(request, self.context.shop, HoursToGoInput)
        earned = [Earned(line["position"], line["earned_share"]) for line in values["lines"]]
        told = hours_to_go(self.context.shop, job, earned)
        names = ("planned", "earned", "actual", "index", "to_go", "at_completion")
        return Response({**{name: str(getattr(told, name)) for name in names}, "assumes": _ASSUMES})
