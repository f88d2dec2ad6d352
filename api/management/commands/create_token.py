"""``manage.py create_token ada@example.org --name Ada --shop bay --role manager``: the token's text, once.

This is how a first person gets in: the person and the membership are made where they are missing. Only the
token goes to standard output, so that a script can keep it.
"""

import uuid
from contextlib import AbstractContextManager
from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from api.accounts.people import enrol
from api.accounts.roles import ROLES
from api.accounts.tokens import TokenNotIssued, issue
from costbase.calc.errors import CalculationError
from costbase.models import Network, Shop
from costbase.scope import Actor, Scope, network_scope, shop_scope


class Command(BaseCommand):
    help = "Makes a token for a person in a shop or network and prints it; it cannot be printed again."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email", help="address of the person whom the token is for")
        parser.add_argument("--name", default="", help="name of the person; needed for somebody new")
        place = parser.add_mutually_exclusive_group(required=True)
        place.add_argument("--shop", help="slug of the shop that the token opens")
        place.add_argument("--network", help="slug of the network that the token opens")
        parser.add_argument("--role", required=True, choices=sorted(ROLES))
        parser.add_argument("--days", type=int, default=90, help="how long it opens anything; at most 366")

    def handle(self, *args: Any, **options: Any) -> None:
        place = _place(options["shop"], options["network"])
        try:
            with _scope(place):
                person = enrol(email=options["email"], name=options["name"], place=place, role=options["role"])
                raw = issue(
                    person=person,
                    role=options["role"],
                    place=place,
                    made_by=None,
                    now=timezone.now(),
                    life=timedelta(days=options["days"]),
                )
        except (CalculationError, TokenNotIssued) as error:
            raise CommandError(str(error)) from error
        self.stderr.write(f"token for {person} as {options['role']} in {place}, for {options['days']} days:")
        self.stdout.write(raw)


def _place(shop: str | None, network: str | None) -> Shop | Network:
    place = Shop.objects.filter(slug=shop).first() if shop else Network.objects.filter(slug=network).first()
    if place is None:
        raise CommandError(f"expected the slug of a shop or network, got {shop or network!r}")
    return place


def _scope(place: Shop | Network) -> AbstractContextManager[Scope]:
    operator = Actor(person_id=None, token_id=None, role="operator", request_id=f"console-{uuid.uuid4().hex}")
    return shop_scope(place.pk, operator) if isinstance(place, Shop) else network_scope(place.pk, operator)
