"""``manage.py create_network north "Northern shops"``: a new network."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from costbase.actions.shops import create_network
from costbase.calc.errors import CalculationError


class Command(BaseCommand):
    help = "Makes a network, to which shops can then belong."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("slug", help="stands in addresses and never changes")
        parser.add_argument("name")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            network = create_network(slug=options["slug"], name=options["name"])
        except CalculationError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"network {network.slug} made")
