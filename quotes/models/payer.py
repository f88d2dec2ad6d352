"""Who pays for which part of a quote?

Payers and the rules that give them their parts are rows of their own, replaced as a whole while the quote is a draft; triggers
of the database keep them as they are once it is issued. Rules speak of slugs and labels, so that they outlast a new pricing.
"""

from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned, tracked, tracked_without
from quotes.models.customer import Customer
from quotes.models.quote import Quote

KINDS = ("owner", "insurer", "warranty", "fleet")


# A claim number leads to a person, so that the events, which outlast an erasure, do not repeat it.
@tracked_without("claim_reference", "purchase_order", "terms_words")
class QuotePayer(ShopOwned):
    """Somebody who pays a part of a quote; who it is stands with the customer alone."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    label = models.CharField(max_length=63)
    kind = models.CharField(max_length=8)
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    claim_reference = models.CharField(max_length=100, blank=True)
    purchase_order = models.CharField(max_length=100, blank=True)
    terms_days = models.PositiveSmallIntegerField(null=True)
    terms_words = models.CharField(max_length=400, blank=True)
    deductible = models.DecimalField(max_digits=16, decimal_places=3, null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "quote", "position"], name="quote_payer_position"),
            models.UniqueConstraint(fields=["shop", "quote", "label"], name="quote_payer_label"),
            models.CheckConstraint(condition=Q(kind__in=KINDS), name="quote_payer_kind_is_known"),
            models.CheckConstraint(
                condition=Q(deductible=None) | Q(deductible__gte=0, kind__in=("insurer", "warranty")),
                name="quote_payer_deductible_of_insurers",
            ),
        ]


@tracked
class PayerRule(ShopOwned):
    """Gives a part of a quote to the payer with a label; the first rule that fits decides."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    by = models.CharField(max_length=12)
    of = models.CharField(max_length=200, blank=True)
    trade = models.CharField(max_length=63, blank=True)
    payer = models.CharField(max_length=63)
    cause = models.CharField(max_length=20)
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "quote", "position"], name="payer_rule_position"),
        ]
