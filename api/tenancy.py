"""Which shop or network is a request for, may its token go there, and what is then open?"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.http import Http404

from api.accounts.roles import SHOP_ROLES
from api.accounts.tokens import Identity
from costbase.models import Network, Shop
from costbase.scope import Actor, network_scope, shop_scope


@dataclass(frozen=True, slots=True)
class ShopContext:
    """A request that is at work in a shop, with the shop's scope open."""

    shop: Shop
    identity: Identity
    actor: Actor


@dataclass(frozen=True, slots=True)
class NetworkContext:
    """A request that is at work in a network, with the network's scope open."""

    network: Network
    identity: Identity
    actor: Actor


@contextmanager
def open_shop(identity: Identity, slug: str, request_id: str) -> Iterator[ShopContext]:
    """Opens the scope, and with it the transaction, of the shop that an address names.

    A network's token goes into those of its shops that opted in to share what they learn; the views decide
    what it finds there.

    Raises:
        Http404: there is no such shop, or it is no business of this token. The two look alike, so that nobody
            can find out which shops exist.
    """
    shop = Shop.objects.filter(slug=slug).first()
    if shop is None or not _may_enter(identity, shop):
        raise Http404("There is no such shop.")
    actor = actor_of(identity, request_id)
    with shop_scope(shop.pk, actor):
        yield ShopContext(shop=shop, identity=identity, actor=actor)


@contextmanager
def open_network(identity: Identity, slug: str, request_id: str) -> Iterator[NetworkContext]:
    """Opens the scope, and with it the transaction, of the network that an address names.

    Raises:
        Http404: there is no such network, or the token is not one of this network's own.
    """
    network = Network.objects.filter(slug=slug).first()
    if network is None or identity.network_id != network.pk:
        raise Http404("There is no such network.")
    actor = actor_of(identity, request_id)
    with network_scope(network.pk, actor):
        yield NetworkContext(network=network, identity=identity, actor=actor)


def actor_of(identity: Identity, request_id: str) -> Actor:
    """The author of what this request changes."""
    return Actor(person_id=identity.person_id, token_id=identity.token_id, role=identity.role, request_id=request_id)


def _may_enter(identity: Identity, shop: Shop) -> bool:
    if identity.role in SHOP_ROLES:
        return identity.shop_id == shop.pk
    return identity.network_id == shop.network_id and shop.shares_learning
