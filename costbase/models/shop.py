"""Who are the shops, and which network do they belong to?

Both are identity tables: a request names a shop by its slug before any scope is open.
"""

import pgtrigger
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q

SLUG = r"^[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$"
SLUG_VALIDATOR = RegexValidator(SLUG, "Expected 1 to 63 small letters, digits and inner hyphens.")


class Network(models.Model):
    """Shops that share defaults and what they learn. Every shop belongs to one; a lone shop has a network of
    its own.
    """

    slug = models.CharField(max_length=63, unique=True)
    name = models.CharField(max_length=200)
    created = models.DateTimeField(auto_now_add=True)

    objects = models.Manager["Network"]()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(slug__regex=SLUG), name="network_slug_is_plain"),
            models.CheckConstraint(condition=~Q(name=""), name="network_has_a_name"),
        ]
        triggers = [pgtrigger.ReadOnly(name="slug_stays", fields=["slug"])]

    def __str__(self) -> str:
        return self.slug


class Shop(models.Model):
    """One shop.

    `slug` stands in the addresses of papers and requests, so it never changes (a trigger of the database
    holds it). `time_zone` says which day it is in the shop: editions and quotes are dated by it.
    `shares_learning` lets the network read the facts of closed jobs.
    """

    class UnitSystem(models.TextChoices):
        US = "us"
        METRIC = "metric"

    network = models.ForeignKey(Network, on_delete=models.PROTECT, related_name="shops")
    slug = models.CharField(max_length=63, unique=True)
    name = models.CharField(max_length=200)
    currency = models.CharField(max_length=3)
    time_zone = models.CharField(max_length=64)
    unit_system = models.CharField(max_length=6, choices=UnitSystem.choices)
    shares_learning = models.BooleanField(default=False)
    created = models.DateTimeField(auto_now_add=True)

    objects = models.Manager["Shop"]()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(slug__regex=SLUG), name="shop_slug_is_plain"),
            models.CheckConstraint(condition=~Q(name=""), name="shop_has_a_name"),
            models.CheckConstraint(condition=Q(currency__regex=r"^[A-Z]{3}$"), name="shop_currency_is_a_code"),
            models.CheckConstraint(condition=Q(unit_system__in=["us", "metric"]), name="shop_unit_system_is_known"),
        ]
        triggers = [pgtrigger.ReadOnly(name="slug_stays", fields=["slug"])]

    def __str__(self) -> str:
        return self.slug
