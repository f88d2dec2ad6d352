"""What did somebody else reckon for the roof that we quoted, and what was agreed about the differences?

An estimate stands beside a quote and changes nothing of it, so it may be entered and changed whatever the quote's state. Its
lines name those of ours by what they are about, decisions name differences by key; both are replaced as a whole.
"""

from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned, tracked, tracked_without
from quotes.models.customer import Customer
from quotes.models.quote import Quote, amount_field

PARTIES = ("insurer", "warranty", "fleet", "owner", "other-shop", "adviser")
DECISIONS = ("open", "agreed-ours", "agreed-theirs", "split")


# Their number of the estimate may lead to a person, and a note may name one; events outlast an erasure.
@tracked_without("reference", "note")
class SecondEstimate(ShopOwned):
    """Another party's estimate of a quote's roof. `total` and `tax` are sums of its lines; `tax` is null where none has any."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    party = models.CharField(max_length=12)
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    reference = models.CharField(max_length=100, blank=True)
    dated_on = models.DateField()
    stated_total = models.DecimalField(max_digits=16, decimal_places=3, null=True)
    note = models.TextField(blank=True)
    total = amount_field()
    tax = models.DecimalField(max_digits=16, decimal_places=3, null=True)
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField(auto_now_add=True)
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(party__in=PARTIES), name="second_estimate_party_is_known"),
        ]
        indexes = [models.Index(fields=["shop", "quote", "-id"], name="second_estimate_of_a_quote")]


@tracked
class SecondEstimateLine(ShopOwned):
    """One line of it, before tax; `ours` lists what it is matched to, such as ``labour/skin-off/technician``."""

    estimate = models.ForeignKey(
        SecondEstimate, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+"
    )
    position = models.PositiveIntegerField()
    number = models.CharField(max_length=20)
    description = models.CharField(max_length=400)
    phase = models.CharField(max_length=63, blank=True)
    assembly = models.CharField(max_length=63, blank=True)
    quantity = models.DecimalField(max_digits=16, decimal_places=4, null=True)
    unit = models.CharField(max_length=40, blank=True)
    price = models.DecimalField(max_digits=16, decimal_places=6, null=True)
    amount = amount_field()
    tax = models.DecimalField(max_digits=16, decimal_places=3, null=True)
    ours = models.JSONField(default=list)
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "estimate", "position"], name="second_estimate_line_position"),
            models.UniqueConstraint(fields=["shop", "estimate", "number"], name="second_estimate_line_number"),
        ]


@tracked
class EstimateDecision(ShopOwned):
    """What was written about one difference: its state and why; `kept` is what stays as ours of a split one."""

    estimate = models.ForeignKey(
        SecondEstimate, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+"
    )
    difference = models.CharField(max_length=200)
    state = models.CharField(max_length=13)
    reason = models.TextField(blank=True)
    kept = models.DecimalField(max_digits=16, decimal_places=3, null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "estimate", "difference"], name="estimate_decision_once"),
            models.CheckConstraint(
                condition=Q(state__in=DECISIONS) & (Q(state="split", kept__isnull=False) | ~Q(state="split") & Q(kept=None)),
                name="estimate_decision_state_is_known",
            ),
        ]
