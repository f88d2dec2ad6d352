"""Which coaches does the shop know, and what do their roofs look like?"""

from django.db import models
from django.db.models import Q

from costbase.models import ShopOwned, tracked
from quotes.models.customer import Customer


@tracked
class Coach(ShopOwned):
    """A coach with its roof.

    `roof` and `gross_weight` are documents of `quotes/exchange/coaches.py`: every measure as it was entered
    and canonical. `customer` is None while nobody knows whose coach it is.
    """

    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    label = models.CharField(max_length=100)
    plate = models.CharField(max_length=20, blank=True)
    serial_number = models.CharField(max_length=40, blank=True)
    year = models.PositiveSmallIntegerField(null=True)
    gross_weight = models.JSONField(null=True)
    roof = models.JSONField()
    client_id = models.UUIDField(null=True)
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField(auto_now_add=True)
    changed = models.DateTimeField(auto_now=True)
    retired_on = models.DateField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "client_id"], name="coach_client_id_once"),
            models.CheckConstraint(condition=~Q(label=""), name="coach_has_a_label"),
            models.CheckConstraint(condition=Q(year=None) | Q(year__gte=1950, year__lte=2100), name="coach_year_is_of_a_coach"),
        ]
        indexes = [models.Index(fields=["shop", "customer"], name="coach_by_customer")]
