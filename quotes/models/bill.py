"""What was billed, paid, tested, handed over, and what came back?

All of it is only ever added to. Every bill says what its payer comes to so far and what was billed before, so that the last one
of a payer holds, and what is due over all of them is the total of the last. A row that a client sent keeps a digest of what was
sent, so that the same `client_id` with another body is told apart from a client that repeats itself.
"""

from django.db import models
from django.db.models import F, Q

from costbase.models.tables import ShopOwned
from quotes.models.job import Job
from quotes.models.quote import amount_field

KINDS = ("stage", "final", "credit")
PAYMENT_KINDS = ("deposit", "payment", "refund")
METHODS = ("pressurised", "hose", "local_dam")
CAUSES = ("workmanship", "material", "closed_up", "pre_existing", "wear", "damage", "not_known")


class BillCounter(ShopOwned):
    """The last number given to a bill of this shop in a year; taken under the row's lock, gaps allowed."""

    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "year"], name="bill_counter_one_a_year")]


class Bill(ShopOwned):
    """One document for one payer of a job.

    `issue` counts the issuings of a job: those of one issuing are one bill of the job, shared out over its payers. `net` to
    `total` are what this payer comes to so far, by the lines of this document: `net` before tax, `deductible` what moves to
    or from the owner, `rounding` signed. `due` is `total` less `billed_before`; negative where something is given back.
    `stage` says how far the phases are done, ``{}`` where all of it is billed. `job_total` is what all payers come to.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    number = models.CharField(max_length=24)
    issue = models.PositiveIntegerField()
    kind = models.CharField(max_length=6)
    payer = models.CharField(max_length=63)
    stage = models.JSONField()
    credit_of = models.ForeignKey(
        "quotes.Bill", on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    reason = models.CharField(max_length=400, blank=True)
    currency = models.CharField(max_length=3)
    by_class = models.JSONField()
    net = amount_field()
    taxes = models.JSONField()
    tax = amount_field()
    deductible = amount_field()
    rounding = amount_field()
    total = amount_field()
    billed_before = amount_field()
    due = amount_field()
    job_total = amount_field()
    document = models.JSONField()
    document_hash = models.CharField(max_length=64)
    issued_on = models.DateField()  # the shop's day
    issued_at = models.DateTimeField()
    issued_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "number"], name="bill_number_once"),
            models.UniqueConstraint(fields=["shop", "job", "issue", "payer"], name="bill_once_an_issue"),
            models.CheckConstraint(condition=Q(kind__in=KINDS), name="bill_kind_is_known"),
            models.CheckConstraint(
                condition=Q(total=F("net") + F("tax") + F("deductible") + F("rounding")), name="bill_total_adds"
            ),
            models.CheckConstraint(condition=Q(due=F("total") - F("billed_before")), name="bill_due_adds"),
        ]
        indexes = [
            models.Index(fields=["shop", "job", "id"], name="bill_of_job"),
        ]


class BillLine(ShopOwned):
    """One line of a bill: this payer's part of an item so far, and how much of it earlier bills had.

    `quantity`, `unit` and `unit_price` are of the whole item, whatever part of it is billed and to whom; a sum has none.
    """

    append_only = True

    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    key = models.CharField(max_length=160)
    of = models.CharField(max_length=160, blank=True)
    source = models.CharField(max_length=12)
    kind = models.CharField(max_length=8, blank=True)
    name = models.CharField(max_length=200)
    phase = models.CharField(max_length=20, blank=True)
    tax_class = models.CharField(max_length=8)
    quantity = models.DecimalField(max_digits=16, decimal_places=4, null=True)
    unit = models.CharField(max_length=40, blank=True, default="")
    unit_price = models.DecimalField(max_digits=16, decimal_places=6, null=True)
    amount = amount_field()
    before = amount_field()
    words = models.CharField(max_length=400, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "bill", "position"], name="bill_line_position"),
            models.UniqueConstraint(fields=["shop", "bill", "key"], name="bill_line_key"),
        ]


class Payment(ShopOwned):
    """Money that came in or went back, of one payer of a job: below 0 for a refund, the other sign in a correction.

    A deposit is paid on account: it is no revenue until something is billed.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    client_id = models.UUIDField()
    digest = models.CharField(max_length=64, blank=True, default="")
    kind = models.CharField(max_length=7)
    payer = models.CharField(max_length=63)
    day = models.DateField()
    way = models.CharField(max_length=100)  # how it was paid, in plain words; no account and no card number
    amount = amount_field()
    note = models.CharField(max_length=400, blank=True)
    corrects = models.ForeignKey(
        "quotes.Payment", on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "client_id"], name="payment_client_id_once"),
            models.UniqueConstraint(fields=["shop", "corrects"], name="payment_corrected_once"),
            models.CheckConstraint(condition=Q(kind__in=PAYMENT_KINDS), name="payment_kind_is_known"),
            models.CheckConstraint(
                condition=(Q(corrects=None) & (Q(kind="refund", amount__lt=0) | ~Q(kind="refund") & Q(amount__gt=0)))
                | (Q(corrects__isnull=False) & (Q(kind="refund", amount__gt=0) | ~Q(kind="refund") & Q(amount__lt=0))),
                name="payment_has_its_sign",
            ),
        ]
        indexes = [models.Index(fields=["shop", "job", "id"], name="payment_of_job")]


class LeakTest(ShopOwned):
    """One leak test of the finished roof. `pressure` is as it was said, ``{}`` where none was put on; the last test holds."""

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    client_id = models.UUIDField(null=True)
    digest = models.CharField(max_length=64, blank=True, default="")
    method = models.CharField(max_length=11)
    pressure = models.JSONField()
    day = models.DateField()
    tested_by = models.CharField(max_length=63)  # the shop's label of who tested; no name
    passed = models.BooleanField()
    places = models.JSONField()  # where it leaked
    photographs = models.JSONField()
    note = models.TextField(blank=True)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "client_id"], name="leak_test_client_id_once"),
            models.CheckConstraint(condition=Q(method__in=METHODS), name="leak_test_method_is_known"),
        ]
        indexes = [models.Index(fields=["shop", "job", "-id"], name="leak_test_of_job")]


class Warranty(ShopOwned):
    """What is warranted from hand over on: the terms part by part, what is left out and why, what was there before."""

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    begins_on = models.DateField()
    parts = models.JSONField()  # [{"part", "workmanship_months", "material_terms"}]
    excluded = models.JSONField()  # [{"what", "why", "change_order"}]
    pre_existing = models.JSONField()  # findings out of scope, as the opening record has them
    recheck_on = models.DateField()
    old_parts = models.CharField(max_length=400, blank=True)
    keys = models.CharField(max_length=200, blank=True)
    document = models.JSONField()
    document_hash = models.CharField(max_length=64)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "job"], name="warranty_once_a_job")]


class WarrantyReturn(ShopOwned):
    """A coach that came back under warranty: what was found, why, and what was done. Its ledger entries name the old job.

    It has no price, so it is no job of its own: what it takes is logged on the job that it comes from, after its settling, and
    is counted into that job's cost.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    number = models.PositiveIntegerField()
    client_id = models.UUIDField(null=True)
    digest = models.CharField(max_length=64, blank=True, default="")
    came_on = models.DateField()
    cause = models.CharField(max_length=12)
    covered = models.BooleanField()
    findings = models.TextField()
    done = models.TextField(blank=True)
    photographs = models.JSONField()
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "job", "number"], name="warranty_return_number"),
            models.UniqueConstraint(fields=["shop", "client_id"], name="warranty_return_client_id_once"),
            models.CheckConstraint(condition=Q(cause__in=CAUSES), name="warranty_return_cause_is_known"),
        ]
