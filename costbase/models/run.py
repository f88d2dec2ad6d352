"""Which long work is under way in the background, and how far is it?

A run is cut into chunks of well under a minute. Both tables are of the identity class: a worker is handed two numbers and reads
here which scope to open, before one is open.
"""

from django.db import models
from django.db.models import F, Q

from costbase.models.shop import Network, Shop

WAITING, WORKING, DONE, FAILED, CANCELLED = "waiting", "working", "done", "failed", "cancelled"
STATES = (WAITING, WORKING, DONE, FAILED, CANCELLED)
OVER = (DONE, FAILED, CANCELLED)


class RunRows(models.Manager["Run"]):
    """Runs, of one shop or network where somebody asks for them."""

    def for_shop(self, shop: Shop | int) -> "models.QuerySet[Run]":
        """The runs of this shop."""
        return self.filter(shop_id=shop if isinstance(shop, int) else shop.pk)

    def for_network(self, network: Network | int) -> "models.QuerySet[Run]":
        """The runs of this network, without those of its shops."""
        return self.filter(network_id=network if isinstance(network, int) else network.pk)


class Run(models.Model):
    """Long work for one shop or one network.

    `task` is the name of the task that works a chunk off. `key` makes a run of a kind unique for its owner, such as the night
    that it belongs to; "" for runs of which there may be any number. `asked_by` is the person who wanted it, None for the
    service itself. `total` and `done` count chunks, `failed` the attempts at a chunk that failed. `result` is what the chunks
    found, put together; `reason` says why a run failed.
    """

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, null=True, db_index=False, related_name="+")
    network = models.ForeignKey(Network, on_delete=models.PROTECT, null=True, db_index=False, related_name="+")
    kind = models.CharField(max_length=40)
    key = models.CharField(max_length=63, blank=True)
    task = models.CharField(max_length=100)
    state = models.CharField(max_length=9, default=WAITING)
    total = models.PositiveIntegerField()
    done = models.PositiveIntegerField(default=0)
    failed = models.PositiveIntegerField(default=0)
    params = models.JSONField(default=dict)
    result = models.JSONField(default=dict)
    reason = models.CharField(max_length=500, blank=True)
    asked_by = models.BigIntegerField(null=True)
    created = models.DateTimeField()
    heartbeat = models.DateTimeField()
    finished = models.DateTimeField(null=True)

    objects = RunRows()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(shop=None) ^ Q(network=None), name="run_shop_or_network"),
            models.CheckConstraint(condition=Q(state__in=STATES), name="run_state_is_known"),
            models.CheckConstraint(condition=Q(kind__regex=r"^[a-z][a-z_]*$"), name="run_kind_is_plain"),
            models.CheckConstraint(condition=Q(done__lte=F("total")) & ~Q(state=DONE, done__lt=F("total")), name="run_is_done"),
            models.CheckConstraint(condition=Q(finished=None) ^ Q(state__in=OVER), name="run_over_has_a_time"),
            models.UniqueConstraint(fields=["shop", "kind", "key"], condition=~Q(key=""), name="run_once_a_shop_and_key"),
            models.UniqueConstraint(fields=["network", "kind", "key"], condition=~Q(key=""), name="run_once_a_network_and_key"),
        ]
        indexes = [
            models.Index(fields=["shop", "-id"], name="run_of_a_shop"),
            models.Index(fields=["network", "-id"], name="run_of_a_network"),
            # Almost all runs are over; who looks for lost chunks reads the few others.
            models.Index(fields=["id"], condition=~Q(state__in=OVER), name="run_under_way"),
        ]


class RunChunk(models.Model):
    """One part of a run, worked off in one transaction together with the mark that it is done.

    `published` is when it was last given to the broker, `begun` when a worker last took it, and `attempts` how often. The
    `closing` chunk is the last one, given out when all the others are done.
    """

    run = models.ForeignKey(Run, on_delete=models.CASCADE, db_index=False, related_name="chunks")
    n = models.PositiveIntegerField()
    state = models.CharField(max_length=7, default=WAITING)
    closing = models.BooleanField(default=False)
    params = models.JSONField(default=dict)
    attempts = models.PositiveIntegerField(default=0)
    published = models.DateTimeField(null=True)
    begun = models.DateTimeField(null=True)

    objects = models.Manager["RunChunk"]()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["run", "n"], name="run_chunk_once"),
            models.CheckConstraint(condition=Q(state__in=[WAITING, DONE]), name="run_chunk_state_is_known"),
        ]
