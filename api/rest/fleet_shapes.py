"""What is a fleet answered as? Shapes for the documentation; `fleet_answers.py` makes the answers."""

from typing import Any

from rest_framework import serializers

from api.rest.quote_shapes import (
    AmountsShape,
    ByKindShape,
    CountedWorkShape,
    ForecastShape,
    HoursShape,
    LineDetailsShape,
    LineShape,
    TaxesShape,
)


class ShareShape(serializers.Serializer[Any]):
    """One coach's share of a line of the lot."""

    place = serializers.IntegerField(help_text="Which coach, from 1.")
    amount = serializers.CharField()
    quantity = serializers.CharField(required=False, help_text="Labour and materials: of the line's quantity.")
    alone = serializers.CharField(required=False, help_text="Labour and materials: the quantity if it came alone.")
    unit_number = serializers.IntegerField(required=False, help_text="Labour: which coach with this work it is, from 1.")
    learning = serializers.CharField(required=False, help_text="Labour: of its hours beyond set-up, as a share.")
    worked = serializers.CharField(required=False, help_text="Labour: hours that it takes in its turn.")
    net = serializers.CharField(required=False, help_text="Materials: net need, by which the line is shared.")
    direct = serializers.CharField(required=False, help_text="The shop's lines: direct amounts, by which they are shared.")


class LotDetailsShape(LineDetailsShape):
    set_up = serializers.CharField(required=False, help_text="Labour: hours of set-up, once for the lot, with conditions.")
    shares = ShareShape(many=True)


class LotLineShape(LineShape):
    details = LotDetailsShape()


class LotCoachShape(serializers.Serializer[Any]):
    """One coach of the fleet: its own quote in short."""

    place = serializers.IntegerField()
    quote = serializers.IntegerField(allow_null=True, help_text="Id of its quote; null for a trial.")
    number = serializers.CharField()
    state = serializers.CharField()
    version = serializers.IntegerField()
    coach = serializers.IntegerField()
    survey = serializers.IntegerField()
    roof_tier = serializers.CharField()
    provisional = serializers.BooleanField()
    base = serializers.CharField(help_text="Its shares of the lot's lines together.")
    allowance = serializers.CharField()
    contingency = serializers.CharField(help_text="Set aside for it by itself.")
    limit = serializers.CharField(help_text="Its own limit.")
    base_with_tax = serializers.CharField()
    limit_with_tax = serializers.CharField()
    days_low = serializers.FloatField()
    days_high = serializers.FloatField()
    alone_base = serializers.CharField(help_text="Visible work if it came alone.")
    alone_limit = serializers.CharField(help_text="Its limit if it came alone.")


class LotTogetherShape(serializers.Serializer[Any]):
    alone_base = serializers.CharField(help_text="Visible work of the coaches one by one, together.")
    saved = serializers.CharField(help_text="What that is more than the lot's.")
    limits = serializers.CharField(help_text="The coaches' own limits together; the lot's evens their hidden work out.")


class BriefFleetShape(serializers.Serializer[Any]):
    id = serializers.IntegerField(allow_null=True, help_text="null for a trial, which is not kept.")
    label = serializers.CharField()  # type: ignore[assignment]
    state = serializers.CharField()
    version = serializers.IntegerField()
    customer = serializers.IntegerField()
    coach_count = serializers.IntegerField()
    plan = serializers.CharField()
    price_basis = serializers.CharField()
    currency = serializers.CharField()
    engine = serializers.IntegerField()
    provisional = serializers.BooleanField(help_text="Some coach is told or photographed only.")
    confidence_level = serializers.FloatField(help_text="How often the lot's limit shall hold.")
    unit_learning = serializers.FloatField(help_text="What hours come down to on every doubling of the coaches.")
    priced_on = serializers.DateField()
    valid_until = serializers.DateField()
    base_with_tax = serializers.CharField()
    limit_with_tax = serializers.CharField()
    created = serializers.DateTimeField(allow_null=True)
    issued_at = serializers.DateTimeField(allow_null=True)


class FleetShape(BriefFleetShape):
    amounts = AmountsShape()
    taxes = TaxesShape()
    together = LotTogetherShape()
    hours = HoursShape()
    amounts_by_kind = ByKindShape(allow_null=True)
    counted = CountedWorkShape(many=True)
    amounts_by_phase = serializers.DictField(child=serializers.CharField())
    forecast = ForecastShape()
    coaches = LotCoachShape(many=True)
    lines = LotLineShape(many=True)
    notes = serializers.ListField(child=serializers.CharField())
    request = serializers.DictField()
