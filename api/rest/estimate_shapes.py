"""In which form is another party's estimate answered, and how it differs from the quote?"""

from typing import Any

from rest_framework import serializers

from api.rest.payer_shapes import DeductibleShape
from quotes.calc.second_estimate import KINDS, STATES
from quotes.models.second_estimate import PARTIES


class MoneyShape(DeductibleShape):
    """An amount or a price with its currency."""


class SuggestionShape(serializers.Serializer[Any]):
    line = serializers.CharField(help_text="What would stand in `ours`.")
    name = serializers.CharField()
    why = serializers.CharField()
    score = serializers.FloatField(help_text="1 for the same assembly, otherwise the share of words in common.")


class EstimateLineShape(serializers.Serializer[Any]):
    number = serializers.CharField()
    description = serializers.CharField()
    phase = serializers.CharField()
    assembly = serializers.CharField()
    quantity = serializers.CharField(allow_null=True)
    unit = serializers.CharField()
    price = MoneyShape(allow_null=True)
    amount = MoneyShape()
    tax = MoneyShape(allow_null=True)
    ours = serializers.ListField(child=serializers.CharField())
    note = serializers.CharField()
    suggestions = SuggestionShape(many=True, help_text="For a line that is matched to nothing; never taken by itself.")


class DecisionShape(serializers.Serializer[Any]):
    difference = serializers.CharField()
    state = serializers.ChoiceField(choices=STATES)
    reason = serializers.CharField()
    kept = MoneyShape(allow_null=True)


class BriefEstimateShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    quote = serializers.IntegerField()
    party = serializers.ChoiceField(choices=PARTIES)
    customer = serializers.IntegerField(allow_null=True)
    reference = serializers.CharField()
    dated_on = serializers.DateField()
    stated_total = MoneyShape(allow_null=True)
    total = MoneyShape(help_text="Of its lines, before tax.")
    tax = MoneyShape(allow_null=True, help_text="Of its lines; null where none states any.")
    version = serializers.IntegerField()
    created = serializers.DateTimeField()


class EstimateShape(BriefEstimateShape):
    note = serializers.CharField()
    lines = EstimateLineShape(many=True)
    decisions = DecisionShape(many=True)


class CountedShape(serializers.Serializer[Any]):
    unit = serializers.CharField()
    ours = serializers.CharField()
    theirs = serializers.CharField(help_text="Their quantity in our unit.")
    our_price = serializers.CharField()
    their_price = serializers.CharField(allow_null=True, help_text="For one of our unit.")


class DifferenceShape(serializers.Serializer[Any]):
    difference = serializers.CharField(help_text="What decisions call it.")
    kind = serializers.ChoiceField(choices=tuple(KINDS))
    meaning = serializers.CharField()
    words = serializers.CharField()
    ours = serializers.ListField(child=serializers.CharField())
    theirs = serializers.ListField(child=serializers.CharField(), help_text="Numbers of their lines.")
    our_amount = serializers.CharField()
    their_amount = serializers.CharField()
    amount = serializers.CharField(help_text="Ours less theirs.")
    counted = CountedShape(allow_null=True)
    state = serializers.ChoiceField(choices=STATES)
    reason = serializers.CharField()
    kept = serializers.CharField(allow_null=True)


class DifferencesShape(serializers.Serializer[Any]):
    currency = serializers.CharField()
    with_tax = serializers.BooleanField(help_text="Both totals hold tax, since lines of theirs state some.")
    our_total = serializers.CharField()
    their_total = serializers.CharField()
    difference = serializers.CharField(help_text="Ours less theirs; what the differences add up to.")
    alike = serializers.IntegerField(help_text="Groups of matched lines without any difference.")
    differences = DifferenceShape(many=True)
    agreed = serializers.CharField(help_text="Their total with what they take over of ours.")
    open = serializers.CharField(help_text="What is not agreed yet.")
    given_up = serializers.CharField(help_text="What we take over of theirs; agreed, open and given up are our total.")
    warnings = serializers.ListField(child=serializers.CharField())
