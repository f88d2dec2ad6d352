"""When does a shop or a network forget which requests were done?"""

from datetime import datetime

from costbase.models import Network, Shop
from costbase.scope import Actor, assert_network_scope, assert_scope
from quotes.models import IdempotencyKey, NetworkIdempotencyKey


def forget_requests(*, by: Actor, shop: Shop, before: datetime) -> int:
    """Forgets the shop's requests from before an instant, a day ago in the nightly task; how many there were.

    A client that sends such a request again has it done again: no client waits that long for an answer.
    """
    assert_scope(shop.pk)
    forgotten, _ = IdempotencyKey.objects.for_shop(shop).filter(created__lt=before).delete()
    return forgotten


def forget_network_requests(*, by: Actor, network: Network, before: datetime) -> int:
    """As `forget_requests`, for requests to a network."""
    assert_network_scope(network.pk)
    forgotten, _ = NetworkIdempotencyKey.objects.for_network(network).filter(created__lt=before).delete()
    return forgotten
