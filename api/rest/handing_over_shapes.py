"""In which form are leak tests, warranties, settled jobs and returns answered?"""

from typing import Any

from rest_framework import serializers

from api.rest.bill_shapes import BalanceShape
from api.rest.found_shapes import PhotographShape
from quotes.calc.job import METHODS, UNITS
from quotes.models.bill import CAUSES


class PressureShape(serializers.Serializer[Any]):
    value = serializers.CharField()
    unit = serializers.ChoiceField(choices=tuple(UNITS))


class LeakTestShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    method = serializers.ChoiceField(choices=tuple(METHODS))
    method_words = serializers.CharField()
    pressure = PressureShape(allow_null=True)
    caution = serializers.CharField()
    day = serializers.DateField()
    tested_by = serializers.CharField()
    passed = serializers.BooleanField()
    places = serializers.ListField(child=serializers.CharField())
    photographs = PhotographShape(many=True)
    note = serializers.CharField()
    created = serializers.DateTimeField()


class WarrantedPartShape(serializers.Serializer[Any]):
    part = serializers.CharField()
    workmanship_months = serializers.IntegerField()
    material_terms = serializers.CharField()


class ExcludedShape(serializers.Serializer[Any]):
    what = serializers.CharField()
    why = serializers.CharField()
    change_order = serializers.IntegerField(allow_null=True, help_text="Number of the change order that left it so.")


class WarrantyShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    job = serializers.IntegerField()
    begins_on = serializers.DateField()
    recheck_on = serializers.DateField(help_text="When seals and screws are looked at again.")
    parts = WarrantedPartShape(many=True)
    excluded = ExcludedShape(many=True)
    pre_existing = serializers.ListField(
        child=serializers.DictField(), help_text="Findings out of scope as they were written down, and what was said."
    )
    old_parts = serializers.CharField(help_text="What the owner chose to have done with them.")
    keys = serializers.CharField()
    document_hash = serializers.CharField()
    created = serializers.DateTimeField()


class SettledShape(serializers.Serializer[Any]):
    job = serializers.IntegerField()
    number = serializers.CharField()
    state = serializers.CharField()
    closed_on = serializers.DateField(allow_null=True)
    currency = serializers.CharField()
    payers = BalanceShape(many=True, help_text="What is open may be paid after settling.")


class ReturnTradeShape(serializers.Serializer[Any]):
    trade = serializers.CharField()
    hours = serializers.CharField()
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")


class ReturnGoodsShape(serializers.Serializer[Any]):
    name = serializers.CharField(help_text="The material, or what was bought in words.")
    unit = serializers.CharField()
    quantity = serializers.CharField()
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")


class ReturnTookShape(serializers.Serializer[Any]):
    """What the entries that name a return come to."""

    hours = serializers.CharField()
    trades = ReturnTradeShape(many=True)
    goods = ReturnGoodsShape(many=True)
    others = serializers.CharField(required=False, help_text="What subcontractors cost. For managers and analysts.")
    cost = serializers.CharField(required=False, help_text="Of everything. For managers and analysts.")


class ReturnShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    number = serializers.IntegerField()
    came_on = serializers.DateField()
    cause = serializers.ChoiceField(choices=CAUSES)
    covered = serializers.BooleanField()
    findings = serializers.CharField()
    done = serializers.CharField()
    photographs = PhotographShape(many=True)
    created = serializers.DateTimeField()
    took = ReturnTookShape()
