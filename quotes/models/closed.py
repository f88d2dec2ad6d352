"""What did a closed job come to, beside what was quoted, and by which causes do the two differ?

Facts for reports and for learning, made from everything else of the job when its books are closed. They are only ever added to:
a late entry or a return under warranty closes the books again, and of a job's rows the one with the highest `seq` holds.
"""

from django.db import models
from django.db.models import F, Q
from django.db.models.lookups import GreaterThan

from costbase.models.tables import ShopOwned
from quotes.models.job import Job
from quotes.models.quote import Quote, amount_field, rate_field

WHY_CLOSED = ("settled", "late_entry", "warranty_return")


class ClosedJob(ShopOwned):
    """One closing of a job's books. Amounts are ex tax unless named otherwise, in the job's currency.

    `estimator` is who made the quote. `base` to `limit_with_tax` are as agreed; `planned_cost` is the visible work and the
    expected hidden work at cost. `standard` is the actual hours and goods at the quote's own billed rates and markups with the
    shop's lines as quoted, the owner's own wishes apart; `hidden_measured` what opening up showed, `hidden_done` what was put
    right, both at agreed unit prices. `cost_...` are the causes from planned to actual cost (adverse positive), `bill_...`
    those from the agreed visible work to the bill with tax; `bridges` has the steps of both.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    seq = models.PositiveIntegerField()
    why = models.CharField(max_length=15)
    number = models.CharField(max_length=24)
    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    estimator = models.BigIntegerField(null=True)
    tier = models.CharField(max_length=12)
    construction = models.CharField(max_length=12)
    plan = models.CharField(max_length=63)
    price_basis = models.CharField(max_length=5)
    stopped = models.BooleanField()
    currency = models.CharField(max_length=3)
    quoted_on = models.DateField()
    closed_on = models.DateField()
    base = amount_field()
    record = amount_field()
    allowance = amount_field()
    contingency = amount_field()
    limit = amount_field()
    limit_with_tax = amount_field()
    p50 = amount_field()
    p80 = amount_field()
    billed = amount_field()
    billed_with_tax = amount_field()
    authorised = amount_field()
    authorised_with_tax = amount_field()
    overrun_with_tax = amount_field()
    planned_cost = amount_field()
    actual_cost = amount_field()
    planned_hours = models.DecimalField(max_digits=14, decimal_places=4)
    actual_hours = models.DecimalField(max_digits=14, decimal_places=4)
    planned_margin = amount_field()
    margin = amount_field()
    not_quoted_cost = amount_field()
    standard = amount_field()
    hidden_measured = amount_field()
    hidden_done = amount_field()
    cost_owner_changes = amount_field()
    cost_hidden_within = amount_field()
    cost_hidden_beyond = amount_field()
    cost_counted = amount_field()
    cost_other_changes = amount_field()
    cost_not_done = amount_field()
    cost_labour_rate = amount_field()
    cost_labour_mix = amount_field()
    cost_labour_yield = amount_field()
    cost_material_price = amount_field()
    cost_material_usage = amount_field()
    cost_subcontract = amount_field()
    cost_warranty = amount_field()
    cost_other = amount_field()
    bill_counted_less = amount_field()
    bill_within_allowance = amount_field()
    bill_within_set_aside = amount_field()
    bill_beyond_pot = amount_field()
    bill_no_agreed_price = amount_field()
    bill_counted_beyond = amount_field()
    bill_owner_wish = amount_field()
    bill_other = amount_field()
    bill_stop = amount_field()
    bill_credits = amount_field()
    bill_as_logged = amount_field()
    bill_stopped = amount_field()
    bill_cut_to_authorised = amount_field()
    bill_tax = amount_field()
    bill_rounding = amount_field()
    bridges = models.JSONField()
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "job", "seq"], name="closed_job_seq"),
            models.CheckConstraint(condition=Q(why__in=WHY_CLOSED), name="closed_job_why_is_known"),
            models.CheckConstraint(
                condition=Q(
                    actual_cost=F("planned_cost")
                    + F("cost_owner_changes")
                    + F("cost_hidden_within")
                    + F("cost_hidden_beyond")
                    + F("cost_counted")
                    + F("cost_other_changes")
                    + F("cost_not_done")
                    + F("cost_labour_rate")
                    + F("cost_labour_mix")
                    + F("cost_labour_yield")
                    + F("cost_material_price")
                    + F("cost_material_usage")
                    + F("cost_subcontract")
                    + F("cost_warranty")
                    + F("cost_other")
                ),
                name="closed_job_costs_add",
            ),
            models.CheckConstraint(
                condition=Q(
                    billed_with_tax=F("base")
                    + F("record")
                    + F("bill_counted_less")
                    + F("bill_within_allowance")
                    + F("bill_within_set_aside")
                    + F("bill_beyond_pot")
                    + F("bill_no_agreed_price")
                    + F("bill_counted_beyond")
                    + F("bill_owner_wish")
                    + F("bill_other")
                    + F("bill_stop")
                    + F("bill_credits")
                    + F("bill_as_logged")
                    + F("bill_stopped")
                    + F("bill_cut_to_authorised")
                    + F("bill_tax")
                    + F("bill_rounding")
                ),
                name="closed_job_bill_adds",
            ),
            models.CheckConstraint(condition=Q(margin=F("billed") - F("actual_cost")), name="closed_job_margin_adds"),
        ]
        indexes = [
            models.Index(fields=["shop", "-closed_on", "-id"], name="closed_job_newest_first"),
            models.Index(
                fields=["shop", "-closed_on", "-id"],
                condition=Q(GreaterThan(F("actual_cost") - F("planned_cost"), 0)),
                name="closed_job_over_budget",
            ),
            models.Index(
                fields=["shop", "-closed_on", "-id"],
                condition=Q(billed_with_tax__gt=F("authorised_with_tax") + F("overrun_with_tax")),
                name="closed_job_over_limit",
            ),
            models.Index(fields=["shop", "estimator", "-closed_on", "-id"], name="closed_job_of_estimator"),
        ]


class ClosedComponent(ShopOwned):
    """One hidden component of a closed job: what was exposed and opened, what was found of it, and what was put right.

    `found` is the extent that opening up measured, None where nothing of it was opened; a declined repair still counts.
    `opened_share` is what was opened of the exposure, from 0 to 1.
    """

    append_only = True

    closed = models.ForeignKey(ClosedJob, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    slug = models.CharField(max_length=63)
    construction = models.CharField(max_length=12)
    tier = models.CharField(max_length=12)
    unit = models.CharField(max_length=12)
    exposure = models.DecimalField(max_digits=16, decimal_places=4)
    unit_price = rate_field()
    set_up = amount_field()
    opened_share = models.DecimalField(max_digits=7, decimal_places=6)
    found = models.DecimalField(max_digits=16, decimal_places=4, null=True)
    repaired = models.DecimalField(max_digits=16, decimal_places=4)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "closed", "position"], name="closed_component_position"),
            models.CheckConstraint(condition=Q(opened_share__gte=0, opened_share__lte=1), name="closed_component_share"),
        ]
