"""Which coaches are quoted together, and what do they come to as one lot?

A fleet row holds the amounts of the lot, its lines and what binds later. Its coaches are ordinary quotes that name their fleet
and their place in it; their inputs stand with them, and working the lot out again means reading those in order. Drafts are
rewritten at every save, with all their quotes; an issued fleet never changes, and a trigger of the database holds that.
"""

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from costbase.models.tables import ShopOwned, tracked_without
from quotes.models.customer import Customer
from quotes.models.quote import FrozenCostBase, amount_field

FLEET_STATES = ("draft", "issued", "accepted", "declined", "expired", "withdrawn")
FEWEST_COACHES, MOST_COACHES = 2, 50


@tracked_without("request", "atoms", "totals", "told", "factors")
class Fleet(ShopOwned):
    """Several like coaches of one customer, quoted on one plan.

    `learning` is the learning rate that was in force, `coaches` how many there are. `told` holds the lines of the lot with each
    coach's share, `totals` and `atoms` are as a quote's, of the whole lot. `request` is what the client sent.
    """

    label = models.CharField(max_length=100)
    state = models.CharField(max_length=12, default="draft")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    coaches = models.PositiveSmallIntegerField()
    priced_on = models.DateField()
    valid_until = models.DateField()
    engine = models.PositiveIntegerField()
    plan = models.CharField(max_length=63)
    price_basis = models.CharField(max_length=5)
    currency = models.CharField(max_length=3)
    level = models.FloatField()
    learning = models.FloatField()
    provisional = models.BooleanField()
    hours = models.DecimalField(max_digits=14, decimal_places=4)
    cost = amount_field()
    base = amount_field()
    record = amount_field()
    allowance = amount_field()
    reserve = amount_field()
    contingency = amount_field()
    limit = amount_field()
    base_with_tax = amount_field()
    limit_with_tax = amount_field()
    p50 = amount_field()
    p80 = amount_field()
    p90 = amount_field()
    chance_nothing_found = models.FloatField()
    atoms = ArrayField(models.FloatField(), size=128)
    totals = models.JSONField()
    told = models.JSONField()
    request = models.JSONField()
    factors = models.JSONField()
    cost_base = models.ForeignKey(
        FrozenCostBase, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField(auto_now_add=True)
    created_by = models.BigIntegerField(null=True)
    issued_at = models.DateTimeField(null=True)
    issued_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(state__in=FLEET_STATES), name="fleet_state_is_known"),
            models.CheckConstraint(
                condition=Q(coaches__gte=FEWEST_COACHES, coaches__lte=MOST_COACHES), name="fleet_coaches_are_several"
            ),
            models.CheckConstraint(condition=Q(contingency=F("allowance") + F("reserve")), name="fleet_contingency_adds"),
            models.CheckConstraint(condition=Q(limit=F("base") + F("record") + F("contingency")), name="fleet_limit_adds"),
            models.CheckConstraint(condition=Q(reserve__gte=0, base__gte=0), name="fleet_amounts_not_negative"),
            models.CheckConstraint(condition=Q(state="draft") | Q(issued_at__isnull=False), name="fleet_issued_has_a_time"),
        ]
        indexes = [models.Index(fields=["shop", "-created", "-id"], name="fleet_newest_first")]
