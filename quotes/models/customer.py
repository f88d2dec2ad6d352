"""Who owns the coaches, and how are they reached?

The only table with personal data. Everything else refers to a customer by id, history does not track this
table, and logs never show it, so that erasing a row erases the person.
"""

from django.db import models
from django.db.models import Q

from costbase.models import ShopOwned

KINDS = ("person", "company")


class Customer(ShopOwned):
    """A person or company.

    `contacts` is a list of ``{"kind": "phone" | "email" | "post", "value", "note"}``, `authorisers` a list of
    ``{"name", "contact"}``: who may consent to work beside the customer. After an erasure both are empty, and
    `digests` holds salted digests of the name and contacts, so that somebody who says who they were can be
    matched, and nobody else read.
    """

    kind = models.CharField(max_length=7)
    name = models.CharField(max_length=200, blank=True)
    contacts = models.JSONField(default=list)
    authorisers = models.JSONField(default=list)
    note = models.TextField(blank=True)
    client_id = models.UUIDField(null=True)
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField(auto_now_add=True)
    changed = models.DateTimeField(auto_now=True)
    erased_at = models.DateTimeField(null=True)
    erased_by = models.BigIntegerField(null=True)
    digest_salt = models.BinaryField(max_length=16, null=True)
    digests = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "client_id"], name="customer_client_id_once"),
            models.CheckConstraint(condition=Q(kind__in=KINDS), name="customer_kind_is_known"),
            models.CheckConstraint(
                condition=(Q(erased_at=None) & ~Q(name=""))
                | (Q(erased_at__isnull=False, name="", note="", contacts=[], authorisers=[]) & Q(digest_salt__isnull=False)),
                name="customer_has_a_name_or_was_erased",
            ),
        ]
        indexes = [models.Index(fields=["shop", "name", "id"], name="customer_by_name")]
