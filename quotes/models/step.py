"""Which part of the work was offered on its own, before the whole: a look first, or the teardown?"""

from django.db import models
from django.db.models import F, Q

from costbase.models.tables import ShopOwned, tracked_without
from quotes.models.consent import Consent
from quotes.models.quote import Quote, amount_field

KINDS = ("look_first", "teardown")
STATES = ("draft", "issued", "accepted", "declined", "withdrawn", "superseded")


@tracked_without("document", "lines", "request")
class StepOffer(ShopOwned):
    """A step of a quote's work with a price and a limit of its own.

    `amount` is the work itself, `close_up` what it costs to put the coach back to where it can travel, `storage` the most that
    is charged for the days that it stands; the last two are billed only if it ends there. `limit` is all of it, and
    `limit_with_tax` what the owner consents to. `lines` are its priced lines, each with its `part` (work, close_up, storage).
    `counts` says that its work is part of the quote, so that it is taken off when the whole is agreed. `destroyed` are the
    things that do not survive it, `notice` that the coach may not go back together as it was. `job_id` is the job that it began
    or went on with, `closed_up_at` when that ended with the closing up.
    """

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    number = models.PositiveIntegerField()
    version = models.PositiveIntegerField(default=1)
    kind = models.CharField(max_length=10)
    state = models.CharField(max_length=10, default="draft")
    request = models.JSONField()
    counts = models.BooleanField()
    amount = amount_field()
    close_up = amount_field()
    storage = amount_field()
    storage_price = amount_field()
    storage_days = models.PositiveSmallIntegerField()
    limit = amount_field()
    limit_with_tax = amount_field()
    cost = amount_field()
    lines = models.JSONField()
    taxes = models.JSONField()
    destroyed = models.JSONField()
    notice = models.TextField()
    valid_until = models.DateField()
    document = models.JSONField(default=dict)
    document_hash = models.CharField(max_length=64, blank=True, default="")
    consent = models.ForeignKey(
        Consent, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    # The job refers to the step that began it, so this is no key.
    job_id = models.BigIntegerField(null=True)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)
    issued_at = models.DateTimeField(null=True)
    decided_at = models.DateTimeField(null=True)
    closed_up_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "quote", "number"], name="step_number"),
            models.UniqueConstraint(
                fields=["shop", "quote", "kind"], condition=Q(state="issued"), name="step_issued_once_of_a_kind"
            ),
            models.CheckConstraint(condition=Q(kind__in=KINDS), name="step_kind_is_known"),
            models.CheckConstraint(condition=Q(state__in=STATES), name="step_state_is_known"),
            models.CheckConstraint(condition=Q(limit=F("amount") + F("close_up") + F("storage")), name="step_limit_adds"),
            models.CheckConstraint(
                condition=Q(amount__gt=0, close_up__gte=0, storage__gte=0), name="step_amounts_not_negative"
            ),
            models.CheckConstraint(
                condition=~Q(state="accepted") | Q(consent__isnull=False, job_id__isnull=False), name="step_accepted_by_consent"
            ),
        ]
        indexes = [models.Index(fields=["shop", "job_id"], name="steps_of_job")]
