"""Who are the people, where do they belong, by which token do their requests come, and which link has an owner?

All of them are identity tables: they are read before any scope is open, by digest or by person, to find out
which scope to open.
"""

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower

from api.accounts.roles import NETWORK_ROLES, ROLES, SHOP_ROLES
from costbase.models import Network, Shop, tracked

if TYPE_CHECKING:
    from datetime import datetime

_ROLE_CHOICES = [(role, role) for role in sorted(ROLES)]
_SHOP_OR_NETWORK = Q(shop__isnull=False, network__isnull=True, role__in=sorted(SHOP_ROLES)) | Q(
    shop__isnull=True, network__isnull=False, role__in=sorted(NETWORK_ROLES)
)


class Person(models.Model):
    """Somebody who works with the service. May belong to several shops and networks."""

    name = models.CharField(max_length=200)
    email = models.EmailField()
    created = models.DateTimeField(auto_now_add=True)

    objects = models.Manager["Person"]()

    class Meta:
        constraints = [
            # Two spellings of one address are one person.
            models.UniqueConstraint(Lower("email"), name="person_email_once"),
            models.CheckConstraint(condition=~Q(name=""), name="person_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


@tracked
class Membership(models.Model):
    """A person's role in one shop or one network. Ending it deletes the row; history keeps it."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, null=True, related_name="+")
    network = models.ForeignKey(Network, on_delete=models.PROTECT, null=True, related_name="+")
    role = models.CharField(max_length=20, choices=_ROLE_CHOICES)
    created = models.DateTimeField(auto_now_add=True)

    objects = models.Manager["Membership"]()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=_SHOP_OR_NETWORK, name="membership_shop_or_network"),
            models.UniqueConstraint(fields=["person", "shop"], name="membership_once_a_shop"),
            models.UniqueConstraint(fields=["person", "network"], name="membership_once_a_network"),
        ]


class Token(models.Model):
    """A key to the API for one person in one shop or network. The secret itself is shown once and never kept.

    `prefix` stands in logs and lists. `made_by` is None for a token that an operator made at the console.
    """

    prefix = models.CharField(max_length=8)
    digest = models.BinaryField(max_length=32, unique=True)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="tokens")
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, null=True, related_name="+")
    network = models.ForeignKey(Network, on_delete=models.PROTECT, null=True, related_name="+")
    role = models.CharField(max_length=20, choices=_ROLE_CHOICES)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    created = models.DateTimeField()
    expires = models.DateTimeField()
    revoked = models.DateTimeField(null=True)
    last_used = models.DateTimeField(null=True)

    objects = models.Manager["Token"]()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=_SHOP_OR_NETWORK, name="token_shop_or_network"),
            models.CheckConstraint(condition=Q(expires__gt=F("created")), name="token_expires_after_it_was_made"),
            models.CheckConstraint(condition=Q(prefix__regex=r"^[a-z0-9]{8}$"), name="token_prefix_is_plain"),
        ]

    def is_expired(self, at: "datetime") -> bool:
        """Whether its time is over at that instant."""
        return self.expires <= at


SENT_HOW = ("email", "message", "post", "in_person")


class OwnerLink(models.Model):
    """A key to one document of one shop for whoever pays: an offer, a change order, a settlement, and so on.

    It opens this document at this `revision` (of what has none, its version) for one payer, and nothing else. The secret
    itself is shown once and never kept; `prefix` stands in logs and lists. `document_hash` is of the document as it stood when
    the link was made. `reads` and `last_read` tell the shop that the link was opened; they are no evidence of anything.
    """

    prefix = models.CharField(max_length=8)
    digest = models.BinaryField(max_length=32, unique=True)
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="+")
    document = models.CharField(max_length=12)
    document_id = models.BigIntegerField()
    revision = models.PositiveIntegerField()
    document_hash = models.CharField(max_length=64)
    payer = models.CharField(max_length=63, default="owner")
    sent_how = models.CharField(max_length=12, choices=[(way, way) for way in SENT_HOW])
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    created = models.DateTimeField()
    expires = models.DateTimeField()
    revoked = models.DateTimeField(null=True)
    last_read = models.DateTimeField(null=True)
    reads = models.PositiveIntegerField(default=0)

    objects = models.Manager["OwnerLink"]()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(expires__gt=F("created")), name="owner_link_expires_after_it_was_made"),
            models.CheckConstraint(condition=Q(prefix__regex=r"^[a-z0-9]{8}$"), name="owner_link_prefix_is_plain"),
            models.CheckConstraint(condition=Q(sent_how__in=SENT_HOW), name="owner_link_way_is_known"),
        ]
        indexes = [models.Index(fields=["shop", "document", "document_id"], name="owner_link_of_document")]
