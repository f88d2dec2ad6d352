"""What was found when the roof was open, and what did it take of the pot?

All of it is only ever added to: a correction is a new row that names the one it corrects. A row that a tablet sent keeps a
digest of what was sent, so that the same `client_id` with another body is told apart from a tablet that repeats itself.
"""

from django.db import models
from django.db.models import F, Q

from costbase.models.tables import ShopOwned
from quotes.models.job import Job
from quotes.models.quote import amount_field, rate_field


class OpeningEntry(ShopOwned):
    """One look under the skin: which cells, strips and rings were opened, and what of each component was found.

    `marks` are the places, `measured` a list of ``{"component", "construction", "opened", "found", "note", "photographs"}``
    with extents in the component's unit as texts of a decimal; `findings` are out of scope, with a recommendation each.
    `corrects` is an earlier entry that this one stands in place of.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    client_id = models.UUIDField(null=True)
    digest = models.CharField(max_length=64, blank=True, default="")
    day = models.DateField()
    marks = models.JSONField()
    measured = models.JSONField()
    findings = models.JSONField()
    note = models.TextField(blank=True)
    corrects = models.ForeignKey(
        "quotes.OpeningEntry", on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "client_id"], name="opening_client_id_once"),
            models.UniqueConstraint(fields=["shop", "corrects"], name="opening_corrected_once"),
        ]
        indexes = [models.Index(fields=["shop", "job", "id"], name="opening_of_job")]


class FoundNote(ShopOwned):
    """Hidden work that draws the pot: extent x unit price, rounded, and the component's set-up with its first note.

    `amount` = work + `set_up`; `left` is what the pot holds after it. `material` is the part of the amount that is parts for
    tax, rounded down. Negative in a correction.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    number = models.PositiveIntegerField()
    client_id = models.UUIDField(null=True)
    digest = models.CharField(max_length=64, blank=True, default="")
    opening = models.ForeignKey(
        OpeningEntry, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    component = models.CharField(max_length=63)
    construction = models.CharField(max_length=12)
    extent = models.DecimalField(max_digits=16, decimal_places=4)
    unit = models.CharField(max_length=12)
    unit_price = rate_field()
    work = amount_field()
    set_up = amount_field()
    amount = amount_field()
    material = amount_field()
    left = amount_field()
    left_by_component = models.JSONField()
    photographs = models.JSONField()
    note = models.TextField(blank=True)
    # The counted assembly whose quoted quantity was passed, where that is why it draws.
    counted = models.CharField(max_length=63, blank=True, default="")
    corrects = models.ForeignKey(
        "quotes.FoundNote", on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "job", "number"], name="found_note_number"),
            models.UniqueConstraint(fields=["shop", "client_id"], name="found_note_client_id_once"),
            models.UniqueConstraint(fields=["shop", "corrects"], name="found_note_corrected_once"),
            models.CheckConstraint(condition=Q(amount=F("work") + F("set_up")), name="found_note_adds"),
            models.CheckConstraint(condition=Q(left__gte=0), name="found_note_leaves_no_debt"),
        ]


class CountedSettlement(ShopOwned):
    """How much of a counted assembly was done; the last row of an assembly holds.

    `credit` is what is billed less, 0 or more: (quoted - done) x unit price of each line, summed over rounded lines, which
    `lines` lists with their tax class. What is done beyond the quoted quantity is no part of it.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    client_id = models.UUIDField(null=True)
    digest = models.CharField(max_length=64, blank=True, default="")
    assembly = models.CharField(max_length=63)
    quoted = models.DecimalField(max_digits=16, decimal_places=4)
    done = models.DecimalField(max_digits=16, decimal_places=4)
    unit = models.CharField(max_length=40)
    credit = amount_field()
    lines = models.JSONField()
    note = models.TextField(blank=True)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "client_id"], name="counted_client_id_once"),
            models.CheckConstraint(condition=Q(credit__gte=0, done__gte=0), name="counted_never_rises"),
        ]
        indexes = [models.Index(fields=["shop", "job", "assembly", "-id"], name="counted_of_job")]
