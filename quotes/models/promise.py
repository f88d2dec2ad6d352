"""Which other day was a coach proposed for, and what did its owner say?"""

from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned, tracked_without
from quotes.models.consent import Consent
from quotes.models.job import Job

STATES = ("waiting", "accepted", "declined", "withdrawn", "superseded")


@tracked_without("document")
class DateProposal(ShopOwned):
    """Another promised day for a job, put to the owner; it holds by the consent that accepts it, and by nothing else.

    `before` is the day that held when it was proposed, None for none. `document` is what was shown, `document_hash` its
    SHA-256. A newer proposal supersedes one that waits.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    number = models.PositiveIntegerField()
    before = models.DateField(null=True)
    day = models.DateField()
    reason = models.CharField(max_length=2000)
    state = models.CharField(max_length=10, default="waiting")
    document = models.JSONField()
    document_hash = models.CharField(max_length=64)
    consent = models.ForeignKey(
        Consent, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)
    decided_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "job", "number"], name="date_proposal_number"),
            models.UniqueConstraint(fields=["shop", "job"], condition=Q(state="waiting"), name="date_proposal_waits_once"),
            models.CheckConstraint(condition=Q(state__in=STATES), name="date_proposal_state_is_known"),
            models.CheckConstraint(
                condition=Q(state__in=["accepted", "declined"], consent__isnull=False, decided_at__isnull=False)
                | Q(state__in=["waiting", "withdrawn", "superseded"], consent__isnull=True),
                name="date_proposal_answered_by_consent",
            ),
        ]
