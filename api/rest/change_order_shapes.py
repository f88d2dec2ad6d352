"""In which form is a change order answered?"""

from typing import Any

from rest_framework import serializers

from api.rest.consent_shapes import ConsentShape
from quotes.calc.change_order import KINDS
from quotes.models.change_order import CAUSES, STATES


class OrderLineShape(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=("labour", "material", "repair", "subcontract", "shop"))
    slug = serializers.CharField()
    trade = serializers.CharField()
    name = serializers.CharField()
    phase = serializers.CharField()
    quantity = serializers.CharField(help_text="Of a material: what is bought beside what was bought before; may be 0.")
    unit = serializers.CharField()
    price = serializers.CharField()
    amount = serializers.CharField()
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")
    tax_class = serializers.CharField()
    details = serializers.DictField(help_text="Hours and factors; packs needed and bought before; the day of other prices.")


class WayShape(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    way = serializers.ChoiceField(choices=KINDS)
    words = serializers.CharField()
    price = serializers.CharField(help_text="What it adds, before tax.")
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")
    limit = serializers.CharField(help_text="What is authorised in all if it is accepted, before tax.")
    limit_with_tax = serializers.CharField(help_text="What is authorised in all if it is accepted, with tax.")
    tax = serializers.CharField()
    rounding = serializers.CharField()
    days = serializers.CharField()
    worked_days = serializers.CharField(help_text="Hours over the crew and the hours of a day.")
    days_reason = serializers.CharField()
    promised_on = serializers.DateField(allow_null=True)
    warranty = serializers.CharField()
    lines = OrderLineShape(many=True)


class BriefOrderShape(serializers.Serializer[Any]):
    """A change order as a list shows it."""

    id = serializers.IntegerField()
    job = serializers.IntegerField()
    number = serializers.IntegerField()
    client_id = serializers.UUIDField(allow_null=True)
    state = serializers.ChoiceField(choices=STATES)
    cause = serializers.ChoiceField(choices=CAUSES)
    component = serializers.CharField()
    title = serializers.CharField()
    payer = serializers.CharField()
    covers = serializers.ListField(child=serializers.CharField(), help_text="What is not billable while it waits.")
    stops_work = serializers.BooleanField(help_text="The job waits while it does.")
    chosen = serializers.ChoiceField(choices=KINDS, allow_null=True)
    amount = serializers.CharField(allow_null=True, help_text="What the accepted way adds, before tax.")
    authorised = serializers.CharField(allow_null=True)
    authorised_with_tax = serializers.CharField(allow_null=True)
    sent_at = serializers.DateTimeField(allow_null=True, help_text="When it was first sent.")
    decided_at = serializers.DateTimeField(allow_null=True)
    version = serializers.IntegerField()
    created = serializers.DateTimeField()


class OrderShape(BriefOrderShape):
    reason = serializers.CharField()
    photographs = serializers.ListField(child=serializers.CharField())
    consent = serializers.IntegerField(allow_null=True)
    carried_under = serializers.DictField(help_text="The adopted policy that lets it go on without a consent.")
    priced_today = serializers.CharField(
        allow_null=True, help_text="Day of the prices of what the job's own cost base does not hold; null: it holds all."
    )
    ways = WayShape(many=True)
    document = serializers.DictField(help_text="As it was sent; empty before.")
    document_hash = serializers.CharField()
    request = serializers.DictField()


class OrderAnsweredShape(serializers.Serializer[Any]):
    """What an answer to a change order did."""

    state = serializers.ChoiceField(choices=STATES)
    job_state = serializers.CharField()
    authorised = serializers.CharField()
    authorised_with_tax = serializers.CharField()
    promised_on = serializers.DateField(allow_null=True)
    consent = ConsentShape()


class OrderStepShape(serializers.Serializer[Any]):
    text = serializers.CharField()
    value = serializers.CharField()
    unit = serializers.CharField()


class OrderWhyShape(serializers.Serializer[Any]):
    of = serializers.CharField()
    value = serializers.CharField(help_text="The amount of the line, where the steps land.")
    steps = OrderStepShape(many=True)
