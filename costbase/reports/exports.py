"""What is in force on a day, as a file that an import takes back?"""

from datetime import date
from typing import Any

from costbase.exchange.csv_tables import CSV_KINDS, write_csv
from costbase.exchange.staging import Staged
from costbase.exchange.toml_tables import write_toml
from costbase.models import Network, NetworkEdition, Shop, ShopEdition


def exported(owner: Shop | Network, kind: str, day: date, *, with_network: bool) -> bytes:
    """The file of one kind: a table with commas for rates, materials and prices, else TOML.

    Args:
        owner: the shop or network, whose scope is open.
        kind: of edition.
        day: on which they are in force.
        with_network: of a shop, its network's editions under all other slugs too.
    """
    found = _own(owner, kind, day)
    if with_network and isinstance(owner, Shop):
        found = {**_newest(NetworkEdition.objects.for_network(owner.network_id), kind, day), **found}
    entries = [Staged(kind, slug, found[slug].contents, "") for slug in sorted(found)]
    return write_csv(kind, entries) if kind in CSV_KINDS else write_toml(entries)


def _own(owner: Shop | Network, kind: str, day: date) -> dict[str, ShopEdition | NetworkEdition]:
    """The owner's own by slug; where a shop follows its network again it has none."""
    rows: Any = ShopEdition.objects.for_shop(owner) if isinstance(owner, Shop) else NetworkEdition.objects.for_network(owner)
    own = _newest(rows, kind, day)
    return {slug: row for slug, row in own.items() if not (isinstance(row, ShopEdition) and row.follows_network)}


def _newest(rows: Any, kind: str, day: date) -> dict[str, ShopEdition | NetworkEdition]:
    standing = rows.filter(kind=kind, valid_from__lte=day, withdrawn_on=None)
    return {row.slug: row for row in standing.order_by("slug", "-valid_from").distinct("slug")}
