"""How does a network or a shop come into being?

No scope is open here: a scope belongs to a shop or network that is already there.
"""

import re
from zoneinfo import available_timezones

from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.money import UnknownCurrencyError, currency
from costbase.models import Network, Shop
from costbase.models.shop import SLUG


class BadShopError(CalculationError):
    """A network or shop cannot be made as asked; `field` says which of its details is at fault."""

    code = "bad_shop"


def create_network(*, slug: str, name: str) -> Network:
    """A new network without shops.

    Raises:
        BadShopError: the slug or the name does not fit; with both at once, CalculationFaults.
    """
    raise_faults([*_slug_faults(slug, taken=Network.objects.filter(slug=slug).exists()), *_name_faults(name)])
    return Network.objects.create(slug=slug, name=name.strip())


def create_shop(
    *,
    network: Network,
    slug: str,
    name: str,
    currency_code: str,
    time_zone: str,
    unit_system: str,
    shares_learning: bool,
) -> Shop:
    """A new shop of a network, with no editions of its own: everything is its network's at first.

    Raises:
        BadShopError: one of the details does not fit; with several, CalculationFaults with all of them.
    """
    faults = [*_slug_faults(slug, taken=Shop.objects.filter(slug=slug).exists()), *_name_faults(name)]
    try:
        currency(currency_code)
    except UnknownCurrencyError as error:
        faults.append(error.under("currency"))
    if time_zone not in available_timezones():
        message = f"expected an IANA time zone such as America/Chicago, got {time_zone!r}"
        faults.append(BadShopError(message, field="time_zone", value=time_zone))
    if unit_system not in Shop.UnitSystem.values:
        message = f"expected {' or '.join(Shop.UnitSystem.values)}, got {unit_system!r}"
        faults.append(BadShopError(message, field="unit_system", value=unit_system))
    raise_faults(faults)
    return Shop.objects.create(
        network=network,
        slug=slug,
        name=name.strip(),
        currency=currency_code,
        time_zone=time_zone,
        unit_system=unit_system,
        shares_learning=shares_learning,
    )


def _slug_faults(slug: str, *, taken: bool) -> list[CalculationError]:
    if not re.fullmatch(SLUG, slug):
        message = f"expected 1 to 63 small letters, digits and inner hyphens, got {slug!r}"
        return [BadShopError(message, field="slug", value=slug)]
    return [BadShopError(f"the slug {slug} is taken", field="slug", value=slug)] if taken else []


def _name_faults(name: str) -> list[CalculationError]:
    if not name.strip() or len(name) > 200:
        return [BadShopError("expected a name of 1 to 200 characters", field="name", value=name)]
    return []
