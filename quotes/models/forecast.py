"""What did the job look like it would come to, each time that something more of its roof was open?"""

from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned
from quotes.models.change_order import ChangeOrder
from quotes.models.found import OpeningEntry
from quotes.models.job import Job
from quotes.models.quote import amount_field

METHODS = ("points", "conjugate")


class JobForecast(ShopOwned):
    """One forecast of a job, all amounts ex tax.

    It stood on `base` (visible work at agreed prices, what was ordered on top included), `pot` (what may be drawn for hidden
    work) and `limit` (what was authorised). `found` is hidden work found, `left` the mean of what was still closed, both at
    agreed prices; `expected` to `p90` forecast the final cost with the shop's productivity. `chance_over_limit` is that of the
    bill of a firm quote and of the cost of an open one; `chance_over_pot` is of hidden work beyond the pot,
    `chance_cost_over_limit` of a final cost beyond the limit. `closed` lists the hidden components in the order of the job's
    with what was opened, found and drawn of each and what is left. `effective` is how many sample points the looks left.
    `change_order` is the draft that this forecast made.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    opening = models.ForeignKey(
        OpeningEntry, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    base = amount_field()
    pot = amount_field()
    limit = amount_field()
    found = amount_field()
    left = amount_field()
    expected = amount_field()
    p50 = amount_field()
    p80 = amount_field()
    p90 = amount_field()
    chance_over_limit = models.FloatField()
    chance_over_pot = models.FloatField()
    chance_cost_over_limit = models.FloatField()
    method = models.CharField(max_length=9)
    effective = models.FloatField()
    closed = models.JSONField()
    warning_chance = models.FloatField()
    warned = models.BooleanField()
    change_order = models.ForeignKey(
        ChangeOrder, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    # Of a warned one without a draft: why there is none.
    not_drafted = models.CharField(max_length=400, blank=True, default="")
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(method__in=METHODS), name="forecast_method_is_known"),
            models.CheckConstraint(condition=Q(change_order=None) | Q(warned=True), name="forecast_drafts_when_it_warns"),
        ]
        indexes = [models.Index(fields=["shop", "job", "-id"], name="forecast_of_job")]
