"""What is a job answered as? Shapes for the documentation; `job_answers.py` makes the answers."""

from typing import Any

from rest_framework import serializers

from api.rest.quote_shapes import HiddenShape, LineShape
from quotes.calc.job import STATES


class BriefJobShape(serializers.Serializer[Any]):
    """A job as a list shows it."""

    id = serializers.IntegerField()
    number = serializers.CharField()
    state = serializers.ChoiceField(choices=STATES)
    quote = serializers.IntegerField()
    coach = serializers.IntegerField()
    customer = serializers.IntegerField(allow_null=True)
    fleet = serializers.IntegerField(allow_null=True, help_text="The fleet that its quote is of.")
    returns_to = serializers.IntegerField(allow_null=True, help_text="The job that it returns from under warranty.")
    step = serializers.IntegerField(allow_null=True, help_text="The step that began it, sold before the whole.")
    whole = serializers.BooleanField(help_text="false: only steps were sold; nothing whole is agreed yet.")
    price_basis = serializers.ChoiceField(choices=("firm", "open"))
    currency = serializers.CharField()
    limit_with_tax = serializers.CharField(help_text="As agreed at acceptance.")
    authorised_with_tax = serializers.CharField(help_text="As authorised now, change orders included.")
    drawn = serializers.CharField(help_text="What found notes have taken of the pot.")
    left = serializers.CharField(help_text="What the pot still holds.")
    promised_on = serializers.DateField(allow_null=True)
    late = serializers.BooleanField(help_text="The promised day is over and the coach is not handed over.")
    opened_on = serializers.DateField(allow_null=True)
    handed_over_on = serializers.DateField(allow_null=True)
    closed_on = serializers.DateField(allow_null=True)
    version = serializers.IntegerField()
    created = serializers.DateTimeField()


class DrawnShape(serializers.Serializer[Any]):
    """What found notes have drawn for a component."""

    extent = serializers.CharField(help_text="In the component's unit.")
    work = serializers.CharField()
    set_up = serializers.CharField()
    amount = serializers.CharField()


class JobHiddenShape(HiddenShape):
    drawn = DrawnShape()
    left = serializers.CharField(help_text="Its allowance less its draws: information, since there is one pot. May be below 0.")


class PotShape(serializers.Serializer[Any]):
    contingency = serializers.CharField(help_text="Set aside for hidden work, billed only if found.")
    drawn = serializers.CharField()
    left = serializers.CharField()


class LimitsShape(serializers.Serializer[Any]):
    """What was agreed, and what is authorised now."""

    base = serializers.CharField(help_text="Visible work as agreed.")
    record = serializers.CharField()
    limit = serializers.CharField()
    base_with_tax = serializers.CharField()
    limit_with_tax = serializers.CharField()
    deposit = serializers.CharField()
    authorised = serializers.CharField(help_text="Before tax; moves by a consent only.")
    authorised_with_tax = serializers.CharField()
    overrun_with_tax = serializers.CharField(help_text="What the adopted policy allows beyond it without a new consent.")
    cost = serializers.CharField(required=False, help_text="Planned cost, for managers and analysts.")


class JobShape(BriefJobShape):
    """A job with what was agreed and where it stands."""

    resumes = serializers.CharField(help_text="Of a job that waits, the state that it goes back to.")
    moves = serializers.ListField(child=serializers.ChoiceField(choices=STATES), help_text="States that may follow by hand.")
    reason = serializers.CharField(help_text="Given with the last move.")
    options = serializers.ListField(child=serializers.CharField(), help_text="Options that were ticked.")
    hours = serializers.CharField()
    limits = LimitsShape()
    pot = PotShape()
    lines = LineShape(many=True)
    hidden = JobHiddenShape(many=True)
