"""Plain builders: each makes a valid thing, and a test says only what matters to it."""

import itertools
from datetime import UTC, datetime, timedelta

from api.accounts import tokens
from api.accounts.models import Membership, Person
from api.accounts.roles import MANAGER
from api.accounts.tokens import Identity
from costbase.models import Network, Shop
from costbase.scope import Actor, network_scope, shop_scope

NOW = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)
OPERATOR = Actor(person_id=None, token_id=None, role="operator", request_id="test")

_numbers = itertools.count(1)


def network(slug: str = "", *, name: str = "Invented Network") -> Network:
    return Network.objects.create(slug=slug or f"network-{next(_numbers)}", name=name)


def shop(
    slug: str = "",
    *,
    network: Network | None = None,
    name: str = "Invented Shop",
    currency: str = "USD",
    time_zone: str = "America/Chicago",
    unit_system: str = "us",
    shares_learning: bool = False,
) -> Shop:
    return Shop.objects.create(
        slug=slug or f"shop-{next(_numbers)}",
        network=network or globals()["network"](),
        name=name,
        currency=currency,
        time_zone=time_zone,
        unit_system=unit_system,
        shares_learning=shares_learning,
    )


def person(name: str = "Invented Person", *, email: str = "") -> Person:
    return Person.objects.create(name=name, email=email or f"person-{next(_numbers)}@example.org")


def membership(who: Person, place: Shop | Network, role: str) -> Membership:
    """A role in a shop or network; history wants to know who gave it, so a scope is opened."""
    if isinstance(place, Shop):
        with shop_scope(place.pk, OPERATOR):
            return Membership.objects.create(person=who, shop=place, role=role)
    with network_scope(place.pk, OPERATOR):
        return Membership.objects.create(person=who, network=place, role=role)


def token(
    place: Shop | Network,
    role: str = MANAGER,
    *,
    who: Person | None = None,
    made_by: Identity | None = None,
    now: datetime | None = None,
    life: timedelta = timedelta(days=30),
) -> str:
    """The text of a new token for a member of the place; the member is made too unless one is given.

    `now` is the clock's own, because requests compare with it; a test that is about time passes another.
    """
    if who is None:
        who = person()
        membership(who, place, role)
    return tokens.issue(person=who, role=role, place=place, made_by=made_by, now=now or datetime.now(UTC), life=life)
