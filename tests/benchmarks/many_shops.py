"""How is a database filled with the rows of many shops, one statement a table?

What the template shop has of a table is copied for every other shop, past the API and as the tables' owner. The copies lie in
the table as years of work would have left them: those of all shops among each other.
"""

from dataclasses import dataclass
from typing import Any

import psycopg

from costbase.models import Shop
from tests.rest.office import Office
from tests.rest.quoting import Quoting

_SHOPS = """
INSERT INTO costbase_shop (slug, name, currency, time_zone, unit_system, shares_learning, created, network_id)
SELECT 'bench-' || n, 'Invented', currency, time_zone, unit_system, false, created, network_id
FROM costbase_shop, generate_series(1, {shops}) AS n WHERE costbase_shop.id = {shop};
"""


@dataclass
class Service:
    """A shop among many, and a way to write rows past the API, as the tables' owner."""

    quoting: Quoting
    owner: psycopg.Connection[Any]
    shop: Office

    def run(self, statement: str) -> None:
        self.owner.execute(statement.encode())

    def columns(self, table: str, **changed: str) -> tuple[str, str]:
        """The table's columns, and what each is filled with from the row that there is."""
        rows = self.owner.execute(
            b"SELECT column_name FROM information_schema.columns WHERE table_name = %s AND table_schema = 'public'", [table]
        )
        names = [name for (name,) in rows if name != "id" or name in changed]
        return ", ".join(f'"{name}"' for name in names), ", ".join(changed.get(name, f't."{name}"') for name in names)

    def copied(self, table: str, source: str, where: str = "true", **changed: str) -> None:
        """Copies the template shop's row for every other shop; `where` chooses, where there are several."""
        names, values = self.columns(table, shop_id="s.id", **changed)
        order = "n, s.id" if " AS n" in source else "s.id"
        # One by one: what the insert has still to check stands in the way of the others within one transaction.
        self.run(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        self.run(
            f"INSERT INTO {table} ({names}) SELECT {values} FROM {table} AS t, costbase_shop AS s, {source}"
            f" WHERE t.shop_id = {self.quoting.shop.pk} AND s.slug LIKE 'bench-%' AND ({where}) ORDER BY {order}"
        )
        self.run(f"ALTER TABLE {table} ENABLE TRIGGER USER")


def service_of(quoting: Quoting, owner: psycopg.Connection[Any], shops: int) -> Service:
    """Makes so many other shops; the one in the middle is asked."""
    owner.execute(_SHOPS.format(shops=shops, shop=quoting.shop.pk).encode())
    return Service(quoting, owner, Office(Shop.objects.get(slug=f"bench-{shops // 2}")))


def own(table: str) -> str:
    """The id of the only row that a shop has of a table."""
    return f"(SELECT min(x.id) FROM {table} AS x WHERE x.shop_id = s.id)"
