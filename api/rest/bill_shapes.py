"""In which form are bills, payments and balances answered?"""

from typing import Any

from rest_framework import serializers

from api.rest.quote_shapes import TaxShape
from quotes.calc.bill import SOURCES
from quotes.calc.tax import TAX_CLASSES
from quotes.models.bill import KINDS


class StageShareShape(serializers.Serializer[Any]):
    phase = serializers.CharField()
    share = serializers.CharField(help_text="How much of the phase was done, 0 to 1.")


class BriefBillShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    number = serializers.CharField()
    kind = serializers.ChoiceField(choices=KINDS)
    job = serializers.IntegerField()
    job_number = serializers.CharField()
    issue = serializers.IntegerField(help_text="Documents of one issuing of a job have the same number here.")
    payer = serializers.CharField(help_text="Label of the payer.")
    credit_of = serializers.IntegerField(allow_null=True, help_text="Of a credit note, the bill that it takes back of.")
    reason = serializers.CharField()
    stage = StageShareShape(many=True)
    currency = serializers.CharField()
    net = serializers.CharField(help_text="What this payer comes to so far, before tax.")
    tax = serializers.CharField()
    deductible = serializers.CharField(help_text="What moves to the owner: negative for whom it moves from.")
    rounding = serializers.CharField()
    total = serializers.CharField(help_text="What this payer comes to so far, with tax.")
    billed_before = serializers.CharField()
    due = serializers.CharField(help_text="total less billed_before; below 0 where something is given back.")
    job_total = serializers.CharField(help_text="What all payers come to so far.")
    by_class = serializers.DictField(child=serializers.CharField())
    taxes = TaxShape(many=True)
    document_hash = serializers.CharField()
    issued_on = serializers.DateField()
    issued_at = serializers.DateTimeField()


class MeasuredShape(serializers.Serializer[Any]):
    quantity = serializers.CharField(
        allow_null=True, help_text="Of the whole line, whatever part of it is billed; null of a sum."
    )
    unit = serializers.CharField()
    unit_price = serializers.CharField(allow_null=True, help_text="Before tax, six decimals; null where the line has none.")


class BillLineShape(MeasuredShape):
    position = serializers.IntegerField()
    key = serializers.CharField(help_text="Names the line on every bill of the job.")
    of = serializers.CharField(help_text="Key of the line that it takes something back of.")
    source = serializers.ChoiceField(choices=SOURCES)  # type: ignore[assignment]
    kind = serializers.CharField()
    name = serializers.CharField()
    phase = serializers.CharField()
    tax_class = serializers.ChoiceField(choices=TAX_CLASSES)
    words = serializers.CharField()
    amount = serializers.CharField(help_text="So far.")
    before = serializers.CharField()
    now = serializers.CharField()


class BillShape(BriefBillShape):
    lines = BillLineShape(many=True)


class IssuedShape(serializers.Serializer[Any]):
    bills = BillShape(many=True)


class BillPartShape(serializers.Serializer[Any]):
    payer = serializers.CharField()
    amount = serializers.CharField()


class BillItemShape(MeasuredShape):
    key = serializers.CharField()
    of = serializers.CharField()
    source = serializers.ChoiceField(choices=SOURCES)  # type: ignore[assignment]
    kind = serializers.CharField()
    name = serializers.CharField()
    phase = serializers.CharField()
    tax_class = serializers.ChoiceField(choices=TAX_CLASSES)
    words = serializers.CharField()
    amount = serializers.CharField()
    parts = BillPartShape(many=True)


class BillStepShape(serializers.Serializer[Any]):
    text = serializers.CharField()
    amount = serializers.CharField()


class PayerDueShape(serializers.Serializer[Any]):
    payer = serializers.CharField()
    net = serializers.CharField()
    tax = serializers.CharField()
    deductible = serializers.CharField()
    rounding = serializers.CharField()
    total = serializers.CharField()
    billed_before = serializers.CharField()
    due = serializers.CharField()


class BillNowShape(serializers.Serializer[Any]):
    job = serializers.IntegerField()
    number = serializers.CharField()
    state = serializers.CharField()
    currency = serializers.CharField()
    price_basis = serializers.CharField()
    items = BillItemShape(many=True)
    steps = BillStepShape(many=True, help_text="From what was agreed to the total; they add up to it.")
    net = serializers.CharField()
    taxes = TaxShape(many=True)
    tax = serializers.CharField()
    rounding = serializers.CharField()
    total = serializers.CharField()
    authorised_with_tax = serializers.CharField()
    carried_with_tax = serializers.CharField(help_text="What an adopted policy lets be carried beyond it.")
    set_aside_not_needed = serializers.CharField(help_text="What is left of the pot; it is not billed.")
    payers = PayerDueShape(many=True)
    final_billed = serializers.BooleanField()


class BillDocumentShape(serializers.Serializer[Any]):
    payer = serializers.CharField()
    lines = BillLineShape(many=True)


class BillPreviewShape(BillNowShape):
    """What would be issued; nothing of it is kept."""

    kind = serializers.ChoiceField(choices=("stage", "final"))
    documents = BillDocumentShape(many=True, help_text="One for each payer whose part has changed.")


class BalanceShape(serializers.Serializer[Any]):
    payer = serializers.CharField()
    billed = serializers.CharField()
    paid = serializers.CharField()
    open = serializers.CharField(help_text="Billed less paid; below 0 where more was paid than billed so far.")
