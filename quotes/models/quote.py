"""What was quoted, at which prices, and from which inputs?

A quote row holds the amounts, the inputs and what binds later (fingerprint, atoms, engine); its lines and hidden components are
rows of their own. Drafts are rewritten at every save; an issued quote never changes, and a trigger of the database holds that.
"""

from decimal import Decimal

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q
from django.db.models.expressions import Combinable

from costbase.models.tables import ShopOwned, tracked_without
from quotes.models.coach import Coach
from quotes.models.customer import Customer
from quotes.models.survey import Survey

STATES = ("draft", "issued", "accepted", "declined", "expired", "withdrawn", "superseded")
# An owner who has to choose among more chooses nothing. Source: common practice, none published.
MOST_ALTERNATIVES = 3


def amount_field() -> "models.DecimalField[Decimal | Combinable, Decimal]":
    """An amount as `money` rounded it; three decimals hold every currency."""
    return models.DecimalField(max_digits=16, decimal_places=3)


def amount_or_none_field() -> "models.DecimalField[Decimal | Combinable | None, Decimal | None]":
    """An amount that need not be there."""
    return models.DecimalField(max_digits=16, decimal_places=3, null=True)


def rate_field() -> "models.DecimalField[Decimal | Combinable, Decimal]":
    """A rate, price or unit price."""
    return models.DecimalField(max_digits=16, decimal_places=6)


class FrozenCostBase(ShopOwned):
    """The part of the cost base that quotes read, once per shop and fingerprint, as canonical JSON."""

    append_only = True

    fingerprint = models.CharField(max_length=64)
    contents = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "fingerprint"], name="frozen_cost_base_once"),
        ]


class QuoteCounter(ShopOwned):
    """The last number given to a quote of this shop in a year; taken under the row's lock, gaps allowed."""

    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "year"], name="quote_counter_one_a_year")]


# What priced the quote is kept with it and never changes once it is issued; its history is its state and its amounts. Which
# fleet it belongs to never changes at all, and the order of a fleet is in the history of the fleet.
@tracked_without("inputs", "request", "atoms", "totals", "told", "factors", "fleet", "place")
class Quote(ShopOwned):
    """One alternative of one revision of a quote.

    What is offered together has one number and one revision: up to three alternatives, each priced for itself, issued together,
    of which one is accepted. A change of one of them raises the version of all, so that who issues has seen them all.

    `inputs` are the frozen inputs as JSON, `engine` the arithmetic that priced them, `atoms` the 128 equally likely amounts of
    hidden work. `request` is what the client sent, so that a draft can be edited and a revision begun from it. A coach of a
    fleet names the fleet and its place in it, from 1; its lines are its shares of the lot's.
    """

    number = models.CharField(max_length=24)
    revision = models.PositiveIntegerField()
    alternative = models.PositiveSmallIntegerField(default=1)
    label = models.CharField(max_length=100, blank=True, default="")
    reference = models.CharField(max_length=100, blank=True)
    state = models.CharField(max_length=12, default="draft")
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    survey = models.ForeignKey(Survey, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    priced_on = models.DateField()
    valid_until = models.DateField()
    engine = models.PositiveIntegerField()
    plan = models.CharField(max_length=63)
    price_basis = models.CharField(max_length=5)
    currency = models.CharField(max_length=3)
    level = models.FloatField()
    tier = models.CharField(max_length=12)
    provisional = models.BooleanField()
    checked_share = models.FloatField()
    hours = models.DecimalField(max_digits=14, decimal_places=4)
    cost = amount_field()
    base = amount_field()
    record = amount_field()
    allowance = amount_field()
    reserve = amount_field()
    contingency = amount_field()
    limit = amount_field()
    base_with_tax = amount_field()
    limit_with_tax = amount_field()
    p50 = amount_field()
    p80 = amount_field()
    p90 = amount_field()
    chance_nothing_found = models.FloatField()
    atoms = ArrayField(models.FloatField(), size=128)
    totals = models.JSONField()
    told = models.JSONField()
    request = models.JSONField()
    inputs = models.JSONField()
    factors = models.JSONField()
    cost_base = models.ForeignKey(
        FrozenCostBase, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    fleet = models.ForeignKey(
        "quotes.Fleet", on_delete=models.PROTECT, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    place = models.PositiveSmallIntegerField(null=True)
    version = models.PositiveIntegerField(default=1)
    created = models.DateTimeField(auto_now_add=True)
    created_by = models.BigIntegerField(null=True)
    issued_at = models.DateTimeField(null=True)
    issued_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            # Looked at when a statement ends: a fleet that is saved again may exchange places.
            models.UniqueConstraint(
                fields=["shop", "fleet", "place"], name="quote_place_in_a_fleet", deferrable=models.Deferrable.IMMEDIATE
            ),
            models.CheckConstraint(
                condition=Q(fleet__isnull=True, place__isnull=True) | Q(fleet__isnull=False, place__gte=1),
                name="quote_of_a_fleet_has_a_place",
            ),
            models.UniqueConstraint(
                fields=["shop", "number", "revision", "alternative"], name="quote_number_revision_alternative"
            ),
            # Whoever accepts, and however many at once: one alternative of one revision becomes the job.
            models.UniqueConstraint(
                fields=["shop", "number"], condition=Q(state="accepted"), name="quote_accepted_once_a_number"
            ),
            models.CheckConstraint(
                condition=Q(alternative__gte=1, alternative__lte=MOST_ALTERNATIVES), name="quote_alternatives_are_few"
            ),
            models.CheckConstraint(condition=Q(state__in=STATES), name="quote_state_is_known"),
            models.CheckConstraint(
                condition=Q(contingency=models.F("allowance") + models.F("reserve")), name="quote_contingency_adds"
            ),
            models.CheckConstraint(
                condition=Q(limit=models.F("base") + models.F("record") + models.F("contingency")),
                name="quote_limit_adds",
            ),
            models.CheckConstraint(condition=Q(reserve__gte=0, base__gte=0), name="quote_amounts_not_negative"),
            models.CheckConstraint(condition=Q(state="draft") | Q(issued_at__isnull=False), name="quote_issued_has_a_time"),
        ]
        indexes = [
            models.Index(fields=["shop", "-created", "-id"], name="quote_newest_first"),
            models.Index(fields=["shop", "coach", "-created", "-id"], name="quotes_of_a_coach"),
            models.Index(fields=["shop", "issued_at"], condition=Q(issued_at__isnull=False), name="quote_by_issue"),
        ]


class QuoteLine(ShopOwned):
    """One line of a quote: labour of one assembly and trade, one material, or a line of the shop.

    `quantity` is hours, billed packs or billed units of use; `price` is for one of them after markup. `details` holds what only
    one kind of line has: multipliers, parts, packs.
    """

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=8)
    slug = models.CharField(max_length=80)  # of an edition, or "freight:" and that of a material
    trade = models.CharField(max_length=63, blank=True)
    name = models.CharField(max_length=200)
    phase = models.CharField(max_length=20, blank=True)
    price_kind = models.CharField(max_length=8)
    quantity = models.DecimalField(max_digits=16, decimal_places=4)
    unit = models.CharField(max_length=40)  # a unit, or what one pack of the material is called
    price = rate_field()
    amount = amount_field()
    cost = amount_field()
    details = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "quote", "position"], name="quote_line_position"),
            models.CheckConstraint(condition=Q(kind__in=["labour", "material", "shop"]), name="quote_line_kind_is_known"),
        ]


class QuoteComponent(ShopOwned):
    """One hidden component of a quote with its exposure, chance, share, agreed unit price and part of the allowance."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()
    slug = models.CharField(max_length=63)
    construction = models.CharField(max_length=12)
    name = models.CharField(max_length=200)
    owner_words = models.CharField(max_length=200)
    unit = models.CharField(max_length=12)
    tier = models.CharField(max_length=12)
    exposure = models.DecimalField(max_digits=16, decimal_places=4)
    chance = models.FloatField()
    share = models.FloatField()
    unit_price = rate_field()
    set_up = amount_field()
    labour_part = rate_field()
    material_part = rate_field()
    allowance = amount_field()
    details = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "quote", "position"], name="quote_component_position"),
        ]
