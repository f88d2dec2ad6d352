"""What is an opening entry answered as, and the condition report?"""

from typing import Any

from rest_framework import serializers

from api.rest.found_shapes import PhotographShape


class OpenedCellShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    cell = serializers.CharField()


class OpenedStripShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    side = serializers.CharField()
    index = serializers.IntegerField()


class OpenedRingShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    opening = serializers.CharField()


class MeasuredShape(serializers.Serializer[Any]):
    """What was opened of one component, and found of that; extents in its unit, four decimals."""

    component = serializers.CharField()
    construction = serializers.CharField()
    unit = serializers.CharField()
    opened = serializers.CharField(help_text="As far as the survey had left it exposed.")
    found = serializers.CharField()
    condition = serializers.CharField(help_text="Empty where an extent was given.")
    note = serializers.CharField()
    photographs = PhotographShape(many=True)


class OutOfScopeShape(serializers.Serializer[Any]):
    """Something that was found and is no part of the job: told, never billed."""

    kind = serializers.CharField()
    section = serializers.CharField()
    place = serializers.CharField()
    words = serializers.CharField()
    recommendation = serializers.CharField()
    photographs = PhotographShape(many=True)


class OpeningShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    client_id = serializers.UUIDField(allow_null=True)
    day = serializers.DateField()
    cells = OpenedCellShape(many=True)
    strips = OpenedStripShape(many=True)
    rings = OpenedRingShape(many=True)
    found = MeasuredShape(many=True)
    findings = OutOfScopeShape(many=True)
    note = serializers.CharField()
    corrects = serializers.IntegerField(allow_null=True, help_text="Id of the entry that it stands in place of.")
    created = serializers.DateTimeField()


class OpeningsShape(serializers.Serializer[Any]):
    entries = OpeningShape(many=True)


class SurveyFindingShape(serializers.Serializer[Any]):
    kind = serializers.CharField()
    section = serializers.CharField()
    place = serializers.CharField()
    note = serializers.CharField()


class ReportedFindingShape(OutOfScopeShape):
    day = serializers.DateField()
    entry = serializers.IntegerField(help_text="Id of the opening entry.")


class OpenedExtentShape(serializers.Serializer[Any]):
    component = serializers.CharField()
    construction = serializers.CharField()
    unit = serializers.CharField()
    exposure = serializers.CharField()
    opened = serializers.CharField()
    found = serializers.CharField()


class ConditionReportShape(serializers.Serializer[Any]):
    """What is known of the roof's condition beside what the job puts right; nothing of it is billed."""

    job = serializers.CharField(help_text="Number of the job.")
    survey = SurveyFindingShape(many=True, help_text="Found before the roof was open.")
    exclusions = serializers.ListField(child=serializers.CharField(), help_text="What the price does not include.")
    opened = OpenedExtentShape(many=True, help_text="How much of each hidden component was looked at, and found rotten.")
    findings = ReportedFindingShape(many=True, help_text="Found when the roof was open, out of scope.")
