"""In which form is it answered who pays for which part of a quote?"""

from typing import Any

from rest_framework import serializers

from api.rest.quote_shapes import TaxesShape
from api.rest.quote_whys import StepShape
from quotes.calc.payers import CAUSES, KINDS, SUBJECTS


class TermsShape(serializers.Serializer[Any]):
    days = serializers.IntegerField(allow_null=True)
    words = serializers.CharField()


class DeductibleShape(serializers.Serializer[Any]):
    amount = serializers.CharField()
    currency = serializers.CharField()


class PayerLineShape(serializers.Serializer[Any]):
    position = serializers.IntegerField(help_text="Of the line in the quote.")
    kind = serializers.ChoiceField(choices=("labour", "material", "shop"))
    slug = serializers.CharField()
    trade = serializers.CharField()
    name = serializers.CharField()
    phase = serializers.CharField()
    quantity = serializers.CharField(help_text="The payer's part; parts of all payers add up to the line's.")
    unit = serializers.CharField()
    amount = serializers.CharField()
    whole = serializers.BooleanField(help_text="Nobody else pays a part of this line, and it has one cause.")
    cause = serializers.ChoiceField(choices=tuple(CAUSES))


class PayerHiddenShape(serializers.Serializer[Any]):
    position = serializers.IntegerField(help_text="Of the hidden component in the quote.")
    slug = serializers.CharField()
    name = serializers.CharField()
    allowance = serializers.CharField()
    contingency = serializers.CharField(help_text="The part of what is set aside that this payer may come to bear.")
    whole = serializers.BooleanField()
    cause = serializers.ChoiceField(choices=tuple(CAUSES))


class CauseAmountShape(serializers.Serializer[Any]):
    cause = serializers.ChoiceField(choices=tuple(CAUSES))
    words = serializers.CharField()
    amount = serializers.CharField(help_text="Of the visible work, before tax.")


class PayerAmountsShape(serializers.Serializer[Any]):
    base = serializers.CharField()
    tax = serializers.CharField()
    deductible = serializers.CharField(help_text="What moves to the owner: negative for the payer that it moves from.")
    rounding = serializers.CharField()
    total = serializers.CharField(help_text="What falls on this payer with the visible work, with tax.")
    record = serializers.CharField()
    contingency = serializers.CharField()
    limit = serializers.CharField()
    limit_tax = serializers.CharField()
    limit_deductible = serializers.CharField()
    limit_rounding = serializers.CharField()
    limit_with_tax = serializers.CharField(help_text="The most that can fall on this payer without a new consent.")


class PayerShape(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]
    kind = serializers.ChoiceField(choices=KINDS)
    customer = serializers.IntegerField(allow_null=True, help_text="For the owner the quote's, unless another was said.")
    claim_reference = serializers.CharField()
    purchase_order = serializers.CharField()
    terms = TermsShape()
    deductible = DeductibleShape(allow_null=True)
    lines = PayerLineShape(many=True)
    hidden = PayerHiddenShape(many=True)
    causes = CauseAmountShape(many=True)
    amounts = PayerAmountsShape()
    taxes = TaxesShape()


class PayerRuleShape(serializers.Serializer[Any]):
    by = serializers.ChoiceField(choices=SUBJECTS)
    of = serializers.CharField()
    trade = serializers.CharField()
    payer = serializers.CharField()
    cause = serializers.ChoiceField(choices=tuple(CAUSES))
    note = serializers.CharField()


class TogetherShape(serializers.Serializer[Any]):
    """The amounts of the quote, which those of its payers add up to."""

    base = serializers.CharField()
    tax = serializers.CharField()
    rounding = serializers.CharField()
    total = serializers.CharField()
    record = serializers.CharField()
    contingency = serializers.CharField()
    limit = serializers.CharField()
    limit_tax = serializers.CharField()
    limit_rounding = serializers.CharField()
    limit_with_tax = serializers.CharField()


class PayersShape(serializers.Serializer[Any]):
    quote = serializers.IntegerField()
    number = serializers.CharField()
    revision = serializers.IntegerField()
    state = serializers.CharField()
    currency = serializers.CharField()
    payers = PayerShape(many=True, help_text="The owner first.")
    rules = PayerRuleShape(many=True)
    together = TogetherShape()
    warnings = serializers.ListField(child=serializers.CharField())


class PayerStepShape(StepShape):
    adds = serializers.BooleanField(help_text="false: the sum of the steps above.")


class PayerWhyShape(serializers.Serializer[Any]):
    of = serializers.CharField()
    value = serializers.CharField(help_text="What the steps that add come to.")
    steps = PayerStepShape(many=True)
