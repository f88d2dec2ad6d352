"""What did a job take: hours, goods, invoices, subcontractors?

One ledger for a shop, only ever added to. A correction takes an entry back by a new one that names it and has its figures with
the other sign, and a further one says what is right.
"""

from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned, tracked
from quotes.models.bill import WarrantyReturn
from quotes.models.change_order import ChangeOrder
from quotes.models.job import Job
from quotes.models.quote import amount_field, rate_field

KINDS = ("time", "other_hours", "issued", "returned", "used", "purchase", "subcontract", "credit")


@tracked
class Worker(ShopOwned):
    """Somebody whose hours are logged; who it is stands nowhere but in the label that the shop gives."""

    label = models.CharField(max_length=63)
    trade = models.CharField(max_length=63)
    person_id = models.BigIntegerField(null=True)
    retired_on = models.DateField(null=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "label"], name="worker_label_once")]


class LedgerEntry(ShopOwned):
    """One entry.

    `line` is the position of a `JobLine`, `component` a hidden component drawn on by found notes, `change_order` an accepted
    one, `warranty_return` one of the job's; an entry of a job that has none of the four is work or goods that nobody quoted.
    `quantity` is hours, packs or units of use as `unit` says. `cost` is what it cost the shop (hours at the trade's cost of the
    day with the overtime factor, goods at the purchase price, invoices as they came); `value` is the same at the quote's own
    billed rates and markups. Signed in corrections. `late`: entered after the job was settled.
    """

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+")
    client_id = models.UUIDField(null=True)
    kind = models.CharField(max_length=11)
    day = models.DateField()
    worker = models.ForeignKey(
        Worker, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    trade = models.CharField(max_length=63, blank=True)
    phase = models.CharField(max_length=20, blank=True)
    assembly = models.CharField(max_length=63, blank=True)
    line = models.PositiveIntegerField(null=True)
    component = models.CharField(max_length=63, blank=True)
    change_order = models.ForeignKey(
        ChangeOrder, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    warranty_return = models.ForeignKey(
        WarrantyReturn, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    material = models.CharField(max_length=80, blank=True)
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    unit = models.CharField(max_length=40)
    overtime = models.BooleanField(default=False)
    rate = rate_field()  # cost of one unit
    cost = amount_field()
    value = amount_field()
    supplier = models.CharField(max_length=100, blank=True)
    invoice = models.CharField(max_length=63, blank=True)
    invoice_line = models.PositiveIntegerField(null=True)
    reason = models.CharField(max_length=63, blank=True)  # of other hours: what they were
    words = models.CharField(max_length=200, blank=True, default="")  # of a purchase that is no material of the cost base
    markup_class = models.CharField(max_length=63, blank=True, default="")
    source = models.CharField(max_length=5, blank=True, default="")
    returnable = models.BooleanField(null=True)
    valued_by = models.CharField(max_length=7, blank=True, default="")
    said = models.CharField(max_length=64, blank=True, default="")
    note = models.TextField(blank=True)
    corrects = models.ForeignKey(
        "quotes.LedgerEntry", on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    late = models.BooleanField(default=False)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "client_id"], name="ledger_client_id_once"),
            models.UniqueConstraint(fields=["shop", "corrects"], name="ledger_corrected_once"),
            models.CheckConstraint(condition=Q(kind__in=KINDS), name="ledger_kind_is_known"),
            models.CheckConstraint(
                condition=Q(kind="other_hours", job=None)
                | Q(kind="purchase")
                | ~Q(kind__in=["other_hours", "purchase"]) & Q(job__isnull=False),
                name="ledger_other_hours_have_no_job",
            ),
            # What is taken back has the other sign, and nothing else has.
            models.CheckConstraint(
                condition=Q(corrects=None, quantity__gt=0) | Q(corrects__isnull=False, quantity__lt=0),
                name="ledger_only_corrections_take_back",
            ),
            models.CheckConstraint(condition=Q(source__in=["", "stock", "job"]), name="ledger_source_is_known"),
            # What a return took is told by itself, so it stands on nothing that was sold.
            models.CheckConstraint(
                condition=Q(warranty_return=None)
                | Q(job__isnull=False, line=None, assembly="", component="", change_order=None),
                name="ledger_returns_stand_alone",
            ),
            models.CheckConstraint(condition=Q(valued_by__in=["", "frozen", "edition"]), name="ledger_value_is_told"),
        ]
        indexes = [
            models.Index(fields=["shop", "job", "id"], name="ledger_of_job"),
            models.Index(fields=["shop", "day", "id"], name="ledger_by_day"),
            # A worker's hours of a day are summed before any more are added.
            models.Index(fields=["shop", "worker", "day"], name="ledger_of_worker", condition=Q(worker__isnull=False)),
            models.Index(
                fields=["shop", "warranty_return"], name="ledger_of_return", condition=Q(warranty_return__isnull=False)
            ),
            models.Index(fields=["shop", "supplier", "invoice"], name="ledger_of_invoice", condition=~Q(invoice="")),
        ]

    @property
    def quoted(self) -> bool:
        """Whether it belongs to anything that the owner has agreed to, or to a return that he was promised; what has no job
        belongs to no quote either way.
        """
        placed = self.line is not None or bool(self.component) or self.change_order_id is not None
        return self.job_id is None or placed or self.warranty_return_id is not None
