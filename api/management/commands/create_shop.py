"""``manage.py create_shop bay "Bay Shop" --network north --currency USD --time-zone America/Chicago --units
us``.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from costbase.actions.shops import create_shop
from costbase.calc.errors import CalculationError
from costbase.models import Network, Shop


class Command(BaseCommand):
    help = "Makes a shop of a network."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("slug", help="stands in addresses and never changes")
        parser.add_argument("name")
        parser.add_argument("--network", required=True, help="slug of the network that the shop belongs to")
        parser.add_argument("--currency", required=True, help="ISO 4217 code; fixed after the first quote")
        parser.add_argument("--time-zone", required=True, help="IANA name; says which day it is in the shop")
        parser.add_argument("--units", required=True, choices=Shop.UnitSystem.values)
        parser.add_argument("--shares-learning", action="store_true", help="lets the network read the facts of closed jobs")

    def handle(self, *args: Any, **options: Any) -> None:
        network = Network.objects.filter(slug=options["network"]).first()
        if network is None:
            raise CommandError(f"expected the slug of a network, got {options['network']!r}")
        try:
            shop = create_shop(
                network=network,
                slug=options["slug"],
                name=options["name"],
                currency_code=options["currency"],
                time_zone=options["time_zone"],
                unit_system=options["units"],
                shares_learning=options["shares_learning"],
            )
        except CalculationError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"shop {shop.slug} made in network {network.slug}")
