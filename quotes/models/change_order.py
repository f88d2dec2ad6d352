"""What more (or other) work was put to the owner after acceptance, in which ways, and what came of it?"""

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned, tracked_without
from quotes.models.consent import Consent
from quotes.models.job import Job
from quotes.models.quote import FrozenCostBase, amount_field, amount_or_none_field, rate_field

STATES = ("draft", "waiting", "accepted", "carried", "declined", "withdrawn")
CAUSES = ("beyond_pot", "no_agreed_price", "owner_wish", "counted_beyond", "stop", "other")
WAYS = ("repair", "repair_part", "close_up", "stop")


@tracked_without("document")
class ChangeOrder(ShopOwned):
    """A change of a job that needs a consent. It is sent with two to four ways (one for an owner's wish), and one is chosen.

    `covers` are slugs of assemblies and hidden components whose work cannot be logged as billable while it waits. `payer` is
    the label of who pays for it. `chosen` is the position of the way that was accepted; `amount`, `authorised` and
    `authorised_with_tax` are then what it added and what was authorised after it. `document` is what was shown, `document_hash`
    its SHA-256. While an order that `stops_work` waits, its job does. One that is carried goes on without a consent, since an
    adopted policy allows it: `carried_under` says which, in its own words, and what is authorised stays.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    number = models.PositiveIntegerField()
    client_id = models.UUIDField(null=True)
    state = models.CharField(max_length=9, default="draft")
    cause = models.CharField(max_length=16)
    component = models.CharField(max_length=63, blank=True)
    title = models.CharField(max_length=200)
    reason = models.TextField(blank=True)
    payer = models.CharField(max_length=63, default="owner")
    covers = ArrayField(models.CharField(max_length=63), default=list)
    photographs = models.JSONField(default=list)
    stops_work = models.BooleanField(default=True)
    carried_under = models.JSONField(default=dict)
    cost_base = models.ForeignKey(
        FrozenCostBase, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    request = models.JSONField(default=dict)
    document = models.JSONField(default=dict)
    document_hash = models.CharField(max_length=64, blank=True)
    chosen = models.PositiveSmallIntegerField(null=True)
    consent = models.ForeignKey(
        Consent, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    amount = amount_or_none_field()
    authorised = amount_or_none_field()
    authorised_with_tax = amount_or_none_field()
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField()
    created_by = models.BigIntegerField(null=True)
    sent_at = models.DateTimeField(null=True)
    decided_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "job", "number"], name="change_order_number"),
            models.UniqueConstraint(fields=["shop", "client_id"], name="change_order_client_id_once"),
            models.CheckConstraint(condition=Q(state__in=STATES), name="change_order_state_is_known"),
            models.CheckConstraint(condition=Q(cause__in=CAUSES), name="change_order_cause_is_known"),
            models.CheckConstraint(
                condition=~Q(state="accepted") | Q(consent__isnull=False, chosen__isnull=False, amount__isnull=False),
                name="change_order_accepted_by_consent",
            ),
            models.CheckConstraint(
                condition=~Q(state="carried") | Q(chosen__isnull=False, amount__isnull=False) & ~Q(carried_under={}),
                name="change_order_carried_by_policy",
            ),
        ]
        indexes = [models.Index(fields=["shop", "state", "sent_at"], name="change_order_waiting")]


class ChangeOrderWay(ShopOwned):
    """One way to go on: its price ex tax and with tax, the days it adds, and what it does to the warranty."""

    change_order = models.ForeignKey(
        ChangeOrder, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=11)
    words = models.TextField(blank=True)
    amount = amount_field()
    cost = amount_field()
    authorised = amount_field()
    authorised_with_tax = amount_field()
    days = models.DecimalField(max_digits=6, decimal_places=2)
    promised_on = models.DateField(null=True)
    warranty = models.TextField(blank=True)
    details = models.JSONField(default=dict)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "change_order", "position"], name="change_order_way_position"),
            models.CheckConstraint(condition=Q(kind__in=WAYS), name="change_order_way_is_known"),
        ]


class ChangeOrderLine(ShopOwned):
    """One line of a way; columns as of `QuoteLine`, with the tax class. The lines of a way add up to its amount."""

    way = models.ForeignKey(ChangeOrderWay, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=11)
    slug = models.CharField(max_length=80)
    trade = models.CharField(max_length=63, blank=True)
    name = models.CharField(max_length=200)
    phase = models.CharField(max_length=20, blank=True)
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    unit = models.CharField(max_length=40)
    price = rate_field()
    amount = amount_field()
    cost = amount_field()
    tax_class = models.CharField(max_length=8)
    details = models.JSONField(default=dict)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "way", "position"], name="change_order_line_position")]


class ChangeOrderPacks(ShopOwned):
    """Net need and packs of a material that accepted change orders have added to a job, so that packs are counted once."""

    append_only = True

    job = models.ForeignKey(Job, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    change_order = models.ForeignKey(
        ChangeOrder, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    material = models.CharField(max_length=63)
    net = models.DecimalField(max_digits=16, decimal_places=4)
    packs = models.DecimalField(max_digits=16, decimal_places=4)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "change_order", "material"], name="change_order_packs_once"),
        ]
        indexes = [models.Index(fields=["shop", "job"], name="change_order_packs_of_job")]
