"""Which requests were done already, and what was answered?"""

from django.db import models
from django.db.models import Q

from costbase.models import NetworkOwned, ShopOwned


class IdempotencyKey(ShopOwned):
    """A request that a client may send again, kept in the same transaction as its effect.

    A key belongs to the person who chose it, or to the owner's link by which it came. `answer` is the body as it was sent; it
    is None where the body has personal data, which stands in one table only: the answer is then made again from the thing at
    `thing_id`.
    """

    person_id = models.BigIntegerField(null=True)
    link_id = models.BigIntegerField(null=True)
    key = models.CharField(max_length=255)
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True)
    headers = models.JSONField(default=dict)
    answer = models.TextField(blank=True)
    thing_id = models.BigIntegerField(null=True)
    created = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "person_id", "key"], name="idempotency_key_once"),
            models.UniqueConstraint(fields=["shop", "link_id", "key"], name="idempotency_key_of_link_once"),
            models.CheckConstraint(
                condition=Q(person_id__isnull=False, link_id__isnull=True) | Q(person_id__isnull=True, link_id__isnull=False),
                name="idempotency_key_of_person_or_link",
            ),
        ]
        indexes = [models.Index(fields=["shop", "created"], name="idempotency_key_by_age")]


class NetworkIdempotencyKey(NetworkOwned):
    """The same for requests to a network. Nothing of a network is personal, so every answer is kept."""

    person_id = models.BigIntegerField()
    key = models.CharField(max_length=255)
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True)
    headers = models.JSONField(default=dict)
    answer = models.TextField(blank=True)
    created = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["network", "person_id", "key"], name="network_idempotency_key_once"),
        ]
        indexes = [models.Index(fields=["network", "created"], name="network_idempotency_by_age")]
