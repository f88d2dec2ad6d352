"""Has somebody looked at why a job ended where it did, and what shall be done differently?"""

from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned, tracked
from quotes.calc.variance import CAUSES
from quotes.models.job import Job

REVIEW_STATES = ("open", "signed_off")
# Beside the causes of the bridge: a review may find that nothing was wrong.
REVIEW_CAUSES = (*CAUSES, "look", "luck", "none")


@tracked
class Review(ShopOwned):
    """The review of one closed job; whoever signs it off says the main cause and what shall be done.

    A review that was signed off may be reopened with a reason; its history keeps every signature.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    state = models.CharField(max_length=10, default="open")
    cause = models.CharField(max_length=16, blank=True, default="")
    action = models.TextField(blank=True, default="")
    reason = models.CharField(max_length=400, blank=True, default="")  # why it was reopened
    signed_by = models.BigIntegerField(null=True)
    signed_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "job"], name="review_of_a_job_once"),
            models.CheckConstraint(condition=Q(state__in=REVIEW_STATES), name="review_state_is_known"),
            models.CheckConstraint(condition=Q(cause__in=("", *REVIEW_CAUSES)), name="review_cause_is_known"),
            models.CheckConstraint(
                condition=Q(state="open") | ~Q(cause="") & ~Q(action="") & Q(signed_at__isnull=False),
                name="review_signed_off_says_why",
            ),
        ]
