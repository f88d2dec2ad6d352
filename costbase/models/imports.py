"""Which files were brought in to change the cost base, what stands in them, and what would they change?

A staged file waits for somebody to look at it. Nothing of it is in force before it is applied, and then all of it is.
"""

from django.db import models
from django.db.models import Q

from costbase.models.tables import NetworkOwned, ShopOwned

STAGING, STAGED, APPLIED = "staging", "staged", "applied"
ADDED, CHANGED, UNCHANGED, FAULTY = "added", "changed", "unchanged", "faulty"
CHANGES = (ADDED, CHANGED, UNCHANGED, FAULTY)


class _Import(models.Model):
    """What imports of shops and of networks have in common.

    `kind` is that of a table with commas, "" for TOML, which may hold any. `content` is the file itself, until its rows are
    staged. `faults` are those that no row has alone. `run_id` is the run that stages a long file.
    """

    file = models.CharField(max_length=200)
    kind = models.CharField(max_length=40, blank=True)
    valid_from = models.DateField()
    note = models.TextField(blank=True)
    state = models.CharField(max_length=7, default=STAGING)
    content = models.BinaryField()
    faults = models.JSONField(default=list)
    added = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    unchanged = models.PositiveIntegerField(default=0)
    faulty = models.PositiveIntegerField(default=0)
    run_id = models.BigIntegerField(null=True)
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)
    applied_at = models.DateTimeField(null=True)
    applied_by = models.BigIntegerField(null=True)

    class Meta:
        abstract = True


class _ImportRow(models.Model):
    """One edition of a file: its contents in normal form, or what is wrong with it.

    `change` is what applying it would do to what is in force, and `before` what is in force: None where there is nothing.
    """

    position = models.PositiveIntegerField()
    place = models.CharField(max_length=200)
    kind = models.CharField(max_length=60)
    slug = models.CharField(max_length=200, blank=True)
    contents = models.JSONField(null=True)
    faults = models.JSONField(default=list)
    change = models.CharField(max_length=9, blank=True)
    before = models.JSONField(null=True)

    class Meta:
        abstract = True


class ShopImport(ShopOwned, _Import):
    """A file for a shop's own editions."""

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(state__in=[STAGING, STAGED, APPLIED]), name="shop_import_state_is_known"),
            models.CheckConstraint(condition=Q(applied_at=None) ^ Q(state=APPLIED), name="shop_import_applied_has_a_time"),
        ]


class ShopImportRow(ShopOwned, _ImportRow):
    of = models.ForeignKey(ShopImport, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "of", "position"], name="shop_import_row_position"),
            models.CheckConstraint(condition=Q(change__in=["", *CHANGES]), name="shop_import_row_change_is_known"),
        ]


class NetworkImport(NetworkOwned, _Import):
    """A file for a network's editions."""

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(state__in=[STAGING, STAGED, APPLIED]), name="network_import_state_is_known"),
            models.CheckConstraint(condition=Q(applied_at=None) ^ Q(state=APPLIED), name="network_import_applied_has_a_time"),
        ]


class NetworkImportRow(NetworkOwned, _ImportRow):
    of_id = models.BigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["network", "of_id", "position"], name="network_import_row_position"),
            models.CheckConstraint(condition=Q(change__in=["", *CHANGES]), name="network_import_row_change_is_known"),
        ]
