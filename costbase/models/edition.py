"""What does a shop, or its network, say a rate, material, assembly, plan or rule is, from which day on?

An edition is a whole statement under a kind and a slug. It is in force from `valid_from`, a day of the shop's
calendar, until the next one of the same owner begins; on a day the shop's own edition comes before its
network's. What stands in `contents` is decided by `kind` and checked by `costbase/calc` before it gets here.
"""

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q

from costbase.models.tables import NetworkOwned, ShopOwned, tracked

# As `costbase/calc/fields.py` reads it; a hidden component is named in formulas and evidence, so it may hold underscores.
SLUG = r"^[a-z0-9]+([-_][a-z0-9]+)*$"
_SLUG_FITS = RegexValidator(SLUG, "Expected small letters and digits, with single hyphens or underscores between them.")


@tracked
class ShopEdition(ShopOwned):
    """A shop's own edition.

    `came_from` is the network edition that an override was copied from; it is a number and no key, because a
    network's rows can outlive or precede a shop's and are not the shop's to hold. One that `follows_network`
    says nothing itself: from its day on the network's edition is in force again. Once an issued quote has
    `used` it, it is only followed by a later one, never withdrawn or replaced. `note` says why it was entered;
    `version` counts its changes.
    """

    kind = models.CharField(max_length=40)
    slug = models.CharField(max_length=63, validators=[_SLUG_FITS])
    valid_from = models.DateField()
    contents = models.JSONField()
    came_from = models.BigIntegerField(null=True)
    follows_network = models.BooleanField(default=False)
    note = models.TextField(blank=True, default="")
    version = models.PositiveIntegerField(default=1)
    used = models.BooleanField(default=False)
    withdrawn_on = models.DateField(null=True)
    created = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "kind", "slug", "valid_from"], name="shop_edition_one_a_day"),
            models.CheckConstraint(condition=Q(kind__regex=r"^[a-z][a-z_]*$"), name="shop_edition_kind_is_plain"),
            models.CheckConstraint(condition=Q(slug__regex=SLUG), name="shop_edition_slug_is_plain"),
            models.CheckConstraint(condition=Q(used=False) | Q(withdrawn_on=None), name="shop_edition_used_is_not_withdrawn"),
            models.CheckConstraint(condition=Q(follows_network=False) | Q(contents={}), name="shop_edition_follows_or_says"),
        ]
        # Look-up on a day: the newest `valid_from` that is not after it.
        indexes = [models.Index(fields=["shop", "kind", "slug", "-valid_from"], name="shop_edition_on_a_day")]


@tracked
class NetworkEdition(NetworkOwned):
    """A network's edition: in force in each of its shops that has none of its own under the same kind and
    slug.
    """

    kind = models.CharField(max_length=40)
    slug = models.CharField(max_length=63, validators=[_SLUG_FITS])
    valid_from = models.DateField()
    contents = models.JSONField()
    note = models.TextField(blank=True, default="")
    version = models.PositiveIntegerField(default=1)
    used = models.BooleanField(default=False)
    withdrawn_on = models.DateField(null=True)
    created = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["network", "kind", "slug", "valid_from"], name="network_edition_one_a_day"),
            models.CheckConstraint(condition=Q(kind__regex=r"^[a-z][a-z_]*$"), name="network_edition_kind_is_plain"),
            models.CheckConstraint(condition=Q(slug__regex=SLUG), name="network_edition_slug_is_plain"),
            models.CheckConstraint(
                condition=Q(used=False) | Q(withdrawn_on=None), name="network_edition_used_is_not_withdrawn"
            ),
        ]
        indexes = [models.Index(fields=["network", "kind", "slug", "-valid_from"], name="network_edition_on_a_day")]
