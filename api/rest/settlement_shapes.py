"""In which form is the settlement of a stopped job answered?"""

from typing import Any

from rest_framework import serializers

from api.rest.consent_shapes import ConsentShape
from quotes.models.settlement import STATES


class SettlementLineShape(serializers.Serializer[Any]):
    source = serializers.ChoiceField(choices=("agreed", "order", "draw", "close_up", "storage"))  # type: ignore[assignment]
    kind = serializers.CharField()
    name = serializers.CharField()
    order = serializers.IntegerField(help_text="Number of its change order; 0 for none.")
    position = serializers.IntegerField(help_text="Of the line in the job or its change order; 0 for what was not sold before.")
    quantity = serializers.CharField()
    unit = serializers.CharField()
    price = serializers.CharField()
    of = serializers.CharField(help_text="Its amount when it was sold.")
    share = serializers.CharField(help_text="What of it was done, or of its goods stays.")
    amount = serializers.CharField()
    tax_class = serializers.CharField()


class SettlementTaxShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    rate = serializers.CharField()
    base = serializers.CharField()
    amount = serializers.CharField()


class SettlementShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    job = serializers.IntegerField()
    state = serializers.ChoiceField(choices=STATES)
    stopped_on = serializers.DateField()
    reason = serializers.CharField()
    payer = serializers.CharField()
    lines = SettlementLineShape(many=True)
    amount = serializers.CharField(help_text="Before tax.")
    taxes = SettlementTaxShape(many=True)
    tax = serializers.CharField()
    rounding = serializers.CharField()
    not_billed = serializers.CharField(help_text="What would pass the authorised total, and is not asked for.")
    amount_with_tax = serializers.CharField()
    paid = serializers.CharField(help_text="Deposit and payments so far.")
    due = serializers.CharField(help_text="Below 0: money goes back.")
    document = serializers.DictField(help_text="As it was sent; empty before.")
    document_hash = serializers.CharField()
    consent = serializers.IntegerField(allow_null=True)
    sent_at = serializers.DateTimeField(allow_null=True)
    signed_at = serializers.DateTimeField(allow_null=True)
    version = serializers.IntegerField()
    created = serializers.DateTimeField()
    request = serializers.DictField()


class SettlementAnsweredShape(serializers.Serializer[Any]):
    """What an answer to a settlement did."""

    state = serializers.ChoiceField(choices=STATES)
    job_state = serializers.CharField()
    consent = ConsentShape()


class ProposedWorkShape(serializers.Serializer[Any]):
    assembly = serializers.CharField()
    name = serializers.CharField()
    unit = serializers.CharField()
    quoted = serializers.CharField()
    done = serializers.CharField(help_text="Proposed; never taken by itself.")
    by = serializers.ChoiceField(choices=("counted", "cells opened", "strips opened", "rings opened", "hours logged"))
    hours_logged = serializers.CharField()
    hours_quoted = serializers.CharField()


class OpenedShareShape(serializers.Serializer[Any]):
    places = serializers.ChoiceField(choices=("cells", "strips", "rings"))
    unit = serializers.CharField()
    opened = serializers.CharField(
        help_text="Area of cells, length of strips or number of rings on the record, each place once."
    )
    of = serializers.CharField(help_text="Of all places of that kind in the agreed scope.")
    share = serializers.CharField()


class ProposedGoodsShape(serializers.Serializer[Any]):
    material = serializers.CharField()
    unit = serializers.CharField()
    sold = serializers.CharField()
    kept = serializers.CharField(help_text="What was supplied for this coach; whether it can go back is for a person to say.")


class ProposedOrderShape(serializers.Serializer[Any]):
    number = serializers.IntegerField()
    share = serializers.CharField()


class ProposalOfSettlementShape(serializers.Serializer[Any]):
    done = ProposedWorkShape(many=True)
    opened = OpenedShareShape(many=True, help_text="Only kinds of places of which any was recorded.")
    kept = ProposedGoodsShape(many=True)
    orders = ProposedOrderShape(many=True)
    drawn = serializers.CharField(help_text="Hidden work found so far; it is settled whole.")
    paid = serializers.CharField()
    most = serializers.CharField(help_text="The most that can be asked for, with tax.")
