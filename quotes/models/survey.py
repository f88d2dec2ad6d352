"""What was found on a roof, when, and how was it looked at?"""

from django.db import models
from django.db.models import Q

from costbase.models import ShopOwned, tracked
from quotes.models.coach import Coach

METHODS = ("told", "photographs", "walked", "metered", "opened")


@tracked
class Survey(ShopOwned):
    """A condition survey of one coach.

    `document` is one of `quotes/exchange/surveys.py` with the lists cells, strips, rings, findings, repairs
    and readings. From `locked_on`, the day on which a quote was issued on it, a survey no longer changes; a
    trigger of the database holds that.
    """

    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    method = models.CharField(max_length=11)
    made_on = models.DateField()
    document = models.JSONField()
    client_id = models.UUIDField(null=True)
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField(auto_now_add=True)
    changed = models.DateTimeField(auto_now=True)
    locked_on = models.DateField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "client_id"], name="survey_client_id_once"),
            models.CheckConstraint(condition=Q(method__in=METHODS), name="survey_method_is_known"),
        ]
        indexes = [models.Index(fields=["shop", "coach"], name="survey_of_coach")]
