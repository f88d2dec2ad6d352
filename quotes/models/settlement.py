"""What is paid when the work on a coach is stopped before it is done, and who signed it?"""

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned, tracked_without
from quotes.models.consent import Consent
from quotes.models.job import Job
from quotes.models.quote import amount_field

STATES = ("draft", "sent", "signed", "withdrawn")


@tracked_without("document", "figures", "request")
class Settlement(ShopOwned):
    """The settlement of a stopped job, signed as it is; a trigger of the database keeps a signed one as it was signed.

    `request` is what was entered: how much of every started line was done, what cannot go back, closing up, days of storage.
    `figures` are its lines with their tax classes, credits and taxes; `amount` is their sum before tax, `amount_with_tax` what
    is paid in all, `paid` what was paid before and `due` the rest, below 0 where money goes back.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    state = models.CharField(max_length=9, default="draft")
    stopped_on = models.DateField()
    reason = models.TextField(blank=True)
    payer = models.CharField(max_length=63, default="owner")
    orders = ArrayField(models.BigIntegerField(), default=list)  # change orders that were counted
    request = models.JSONField(default=dict)
    figures = models.JSONField(default=dict)
    amount = amount_field()
    amount_with_tax = amount_field()
    paid = amount_field()
    due = amount_field()
    document = models.JSONField(default=dict)
    document_hash = models.CharField(max_length=64, blank=True)
    consent = models.ForeignKey(
        Consent, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)
    sent_at = models.DateTimeField(null=True)
    signed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "job"], condition=~Q(state="withdrawn"), name="settlement_one_of_a_job"),
            models.CheckConstraint(condition=Q(state__in=STATES), name="settlement_state_is_known"),
            models.CheckConstraint(
                condition=~Q(state="signed") | Q(consent__isnull=False) & ~Q(document_hash=""),
                name="settlement_signed_by_consent",
            ),
        ]
