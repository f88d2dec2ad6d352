"""What was agreed for one coach, how far is the work, and what is authorised now?

A job begins when an offer is accepted. Its lines and components are what was agreed, ticked options included, and never change;
what follows (opening, found notes, change orders, the ledger, bills) stands in tables of its own and refers to them. Whoever
writes anything of a job holds the job's row first (`quotes/actions/jobs.py`), so that two writers wait for each other.
"""

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from costbase.models.tables import ShopOwned, tracked_without
from quotes.calc.job import STATES
from quotes.models.coach import Coach
from quotes.models.consent import Consent
from quotes.models.customer import Customer
from quotes.models.quote import FrozenCostBase, Quote, amount_field, rate_field
from quotes.models.step import StepOffer


class JobCounter(ShopOwned):
    """The last number given to a job of this shop in a year; taken under the row's lock, gaps allowed."""

    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "year"], name="job_counter_one_a_year")]


@tracked_without("totals")
class Job(ShopOwned):
    """One coach's job.

    `base` to `limit_with_tax` are as agreed at acceptance, ticked options included, and never change. `authorised` (ex tax) and
    `authorised_with_tax` are what holds now; a trigger lets them move only together with `consent`, the record that moved them.
    `drawn` is what found notes have taken of the pot `contingency`, never more than there is. `overrun_with_tax` is what the
    adopted policy allows beyond the authorised total without a new consent, 0 where none was adopted. `totals` is as a quote's.
    `resumes` is the state that a job that waits for consent goes back to.

    A job that began with a step is not `whole` until the whole is agreed: it has neither lines nor components nor a pot, the
    agreed amounts are 0, and the step's lines stand in an accepted change order. With the consent to the whole it takes up,
    once, what is agreed then.
    """

    number = models.CharField(max_length=24)
    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    consent = models.ForeignKey(Consent, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    cost_base = models.ForeignKey(
        FrozenCostBase, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    # A return under warranty names the job that it comes from and costs.
    returns_to = models.ForeignKey(
        "quotes.Job", on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    # The step that began it, where one was sold before the whole.
    step = models.ForeignKey(
        StepOffer, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    whole = models.BooleanField(default=True)
    state = models.CharField(max_length=12, default="booked")
    resumes = models.CharField(max_length=12, blank=True, default="")
    price_basis = models.CharField(max_length=5)
    currency = models.CharField(max_length=3)
    options = ArrayField(models.CharField(max_length=63), default=list)
    hours = models.DecimalField(max_digits=14, decimal_places=4)
    cost = amount_field()
    base = amount_field()
    record = amount_field()
    allowance = amount_field()
    contingency = amount_field()
    limit = amount_field()
    base_with_tax = amount_field()
    limit_with_tax = amount_field()
    deposit = amount_field()
    totals = models.JSONField()
    authorised = amount_field()
    authorised_with_tax = amount_field()
    overrun_with_tax = amount_field()
    drawn = amount_field()
    promised_on = models.DateField(null=True)
    reason = models.CharField(max_length=400, blank=True, default="")
    opened_on = models.DateField(null=True)
    handed_over_on = models.DateField(null=True)
    closed_on = models.DateField(null=True)  # settled, stopped and settled, or cancelled
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "number"], name="job_number_once"),
            models.UniqueConstraint(
                fields=["shop", "quote"], condition=Q(returns_to=None, step=None), name="job_of_a_quote_once"
            ),
            models.CheckConstraint(condition=Q(state__in=STATES), name="job_state_is_known"),
            models.CheckConstraint(condition=Q(drawn__gte=0, drawn__lte=F("contingency")), name="job_draws_stay_in_the_pot"),
            models.CheckConstraint(condition=Q(limit=F("base") + F("record") + F("contingency")), name="job_limit_adds"),
            models.CheckConstraint(condition=Q(overrun_with_tax__gte=0), name="job_overrun_is_not_negative"),
            models.CheckConstraint(
                condition=Q(state="waiting") & ~Q(resumes="") | ~Q(state="waiting") & Q(resumes=""),
                name="job_that_waits_resumes",
            ),
        ]
        indexes = [
            models.Index(fields=["shop", "-created", "-id"], name="job_newest_first"),
            models.Index(fields=["shop", "state"], name="job_by_state"),
            models.Index(fields=["shop", "coach"], name="job_of_coach"),
            # Open jobs are few, however many a shop has done.
            models.Index(fields=["shop", "-created", "-id"], condition=Q(closed_on=None), name="job_open_newest_first"),
            models.Index(fields=["shop", "closed_on"], condition=Q(closed_on__isnull=False), name="job_by_closing_day"),
        ]


class JobLine(ShopOwned):
    """One agreed line of a job; columns as of `QuoteLine`."""

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=8)
    slug = models.CharField(max_length=80)
    trade = models.CharField(max_length=63, blank=True)
    name = models.CharField(max_length=200)
    phase = models.CharField(max_length=20, blank=True)
    price_kind = models.CharField(max_length=8)
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    unit = models.CharField(max_length=40)
    price = rate_field()
    amount = amount_field()
    cost = amount_field()
    details = models.JSONField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "job", "position"], name="job_line_position")]


class JobComponent(ShopOwned):
    """One hidden component of a job with its agreed unit price; columns as of `QuoteComponent`."""

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    slug = models.CharField(max_length=63)
    construction = models.CharField(max_length=12)
    name = models.CharField(max_length=200)
    owner_words = models.CharField(max_length=200)
    unit = models.CharField(max_length=12)
    tier = models.CharField(max_length=12)
    exposure = models.DecimalField(max_digits=16, decimal_places=4)
    chance = models.FloatField()
    share = models.FloatField()
    unit_price = rate_field()
    set_up = amount_field()
    labour_part = rate_field()
    material_part = rate_field()
    allowance = amount_field()
    details = models.JSONField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "job", "position"], name="job_component_position")]
