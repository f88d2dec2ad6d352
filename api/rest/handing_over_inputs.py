"""What is said of a leak test, a hand over and a return?"""

from rest_framework import serializers

from api.rest.estimate_requests import QuantityField
from api.rest.fields import (
    LONGEST_NOTE,
    DayField,
    FlagField,
    OneOfField,
    StrictSerializer,
    TextField,
    UuidField,
    WholeField,
)
from api.rest.found_shapes import photographs
from quotes.calc.job import METHODS, UNITS
from quotes.models.bill import CAUSES

MOST = 60


class PressureInput(StrictSerializer):
    value = QuantityField(help_text="A plain decimal number as text, such as 0.5.")
    unit = OneOfField(tuple(UNITS))


class LeakTestInput(StrictSerializer):
    client_id = UuidField(required=False, allow_null=True, default=None, help_text="Made by the client.")
    method = OneOfField(tuple(METHODS))
    pressure = PressureInput(
        required=False, allow_null=True, default=None, help_text="Of a test with air inside only; one inch of water at most."
    )
    bonds_cured = FlagField(
        required=False, default=False, help_text="That every bond under the skin has cured; without it no pressure is put on."
    )
    day = DayField()
    tested_by = TextField(max_length=63, help_text="The shop's label of who tested, no name.")
    passed = FlagField()
    places = serializers.ListField(
        child=TextField(max_length=200), max_length=MOST, required=False, default=list, help_text="Where it leaked."
    )
    photographs = photographs()
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")


class WarrantedPartInput(StrictSerializer):
    part = TextField(max_length=200)
    workmanship_months = WholeField(min_value=0, max_value=600)
    material_terms = TextField(
        max_length=1_000, required=False, allow_blank=True, default="", help_text="What its maker says, in plain words."
    )


class HandOverInput(StrictSerializer):
    day = DayField()
    parts = WarrantedPartInput(many=True, min_length=1, max_length=MOST)
    excluded = serializers.ListField(
        child=TextField(max_length=400),
        max_length=MOST,
        required=False,
        default=list,
        help_text="What is not warranted, besides what was closed up or repaired in part.",
    )
    pre_existing = serializers.ListField(
        child=TextField(max_length=400),
        max_length=MOST,
        required=False,
        default=list,
        help_text="What was there before, besides what the opening record says.",
    )
    keys = TextField(max_length=200, help_text="Which keys were given back, and to whom: owner or bearer, no name.")


class ReturnInput(StrictSerializer):
    client_id = UuidField(required=False, allow_null=True, default=None, help_text="Made by the client.")
    came_on = DayField()
    cause = OneOfField(CAUSES)
    covered = FlagField(help_text="Whether the warranty covers it.")
    findings = TextField(max_length=LONGEST_NOTE)
    done = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")
    photographs = photographs()
