"""How does the invented shop get into the database? Through the same doors as a real one.

Network, shop, people and tokens are made where they are missing; the files of `fixtures/` are staged and imported, which
changes nothing where their contents are in force already. So loading twice is loading once.
"""

import json
import tomllib
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

from django.core.management.base import CommandError
from django.utils import timezone

from api.accounts.people import enrol
from api.accounts.tokens import TokenRefused, identify, issue
from api.embedded.child import write_secret
from costbase.actions.editions import apply_import
from costbase.actions.shops import create_network, create_shop
from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.exchange.csv_tables import read_csv
from costbase.exchange.staging import Staged, TableFault
from costbase.exchange.toml_tables import read_toml
from costbase.models import Network, Shop
from costbase.scope import Actor, network_scope, shop_scope
from quotes.exchange.kept_kinds import READERS

TABLES: Final = {"rates.csv": "rate", "materials.csv": "material", "prices.csv": "price"}
SHOP_FILE: Final = "shop.toml"

TOKEN_LIFE: Final = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class Loaded:
    """What is there after loading: the shop, its network, and how many editions the import put in force."""

    network: Network
    shop: Shop
    changed_editions: int


def load(fixtures: Path) -> Loaded:
    """Brings network, shop and their editions into the database, where they are not there yet.

    Args:
        fixtures: the folder with ``network`` (editions of the network) and ``demo`` (shop, people, editions of the shop).

    Raises:
        CommandError: files with faults, all of them listed.
    """
    described = read_shop(fixtures / "demo")
    day = described["valid_from"]
    network = _network(described["network"])
    shop = _shop(network, described["shop"])
    by = _operator()
    with network_scope(network.pk, by):
        defaults = _imported(by, network, stage_folder(fixtures / "network"), day)
    with shop_scope(shop.pk, by):
        own = _imported(by, shop, stage_folder(fixtures / "demo"), day)
    return Loaded(network, shop, defaults + own)


def read_shop(folder: Path) -> dict[str, Any]:
    """What stands in the shop's own file."""
    return tomllib.loads((folder / SHOP_FILE).read_text(encoding="utf-8"))


def stage_folder(folder: Path) -> list[Staged]:
    """The editions in all files of a folder.

    Raises:
        CommandError: every fault with file, place and column.
    """
    staged: list[Staged] = []
    faults: list[TableFault] = []
    for path in sorted(folder.iterdir()):
        if path.name in TABLES:
            staging = read_csv(path.name, TABLES[path.name], path.read_bytes())
        elif path.suffix == ".toml" and path.name != SHOP_FILE:
            staging = read_toml(path.name, path.read_bytes(), READERS)
        else:
            continue
        staged += staging.entries
        faults += staging.faults
    if faults:
        raise CommandError("\n".join(f"{f.file}: {f.place} {f.column}: {f.reason}" for f in faults))
    return staged


def tokens_for(loaded: Loaded, folder: Path, kept: Path) -> dict[str, str]:
    """A token for each person of the shop's file, by role; those of an earlier run as long as they open what they should.

    Args:
        loaded: shop and network.
        folder: the folder of the shop's file.
        kept: a file that only we can read, where tokens wait for the next run.
    """
    known: Mapping[str, str] = json.loads(kept.read_text()) if kept.exists() else {}
    tokens = {person["role"]: _token(person, loaded, known.get(person["role"])) for person in read_shop(folder)["people"]}
    write_secret(kept, json.dumps(tokens))
    return tokens


def _token(person: Mapping[str, str], loaded: Loaded, known: str | None) -> str:
    role = person["role"]
    place: Shop | Network = loaded.network if role == "network_manager" else loaded.shop
    if known is not None and _opens(known, role, place):
        return known
    with shop_scope(place.pk, _operator()) if isinstance(place, Shop) else network_scope(place.pk, _operator()):
        member = enrol(email=person["email"], name=person["name"], place=place, role=role)
        return issue(person=member, role=role, place=place, made_by=None, now=timezone.now(), life=TOKEN_LIFE)


def _opens(token: str, role: str, place: Shop | Network) -> bool:
    try:
        identity = identify(token, now=timezone.now())
    except TokenRefused:
        return False
    return (role, place.pk) == (identity.role, identity.shop_id if isinstance(place, Shop) else identity.network_id)


def _network(described: Mapping[str, Any]) -> Network:
    return Network.objects.filter(slug=described["slug"]).first() or create_network(**described)


def _shop(network: Network, described: Mapping[str, Any]) -> Shop:
    found = Shop.objects.filter(slug=described["slug"]).first()
    if found is None:
        return create_shop(network=network, **described)
    if found.network_id != network.pk:
        raise CommandError(f"the shop {found.slug} belongs to another network than {network.slug}: this is no demo's database")
    return found


def _imported(by: Actor, owner: Shop | Network, staged: Sequence[Staged], day: date) -> int:
    try:
        difference = apply_import(by=by, owner=owner, staged=staged, valid_from=day)
    except CalculationError as error:
        raise CommandError(_words(f"the files of {owner}", error)) from error
    return len(difference.added) + len(difference.changed)


def _words(source: str, error: CalculationError) -> str:
    """Every fault on a line, with its place."""
    faults = error.faults if isinstance(error, CalculationFaults) else (error,)
    return "\n".join([f"{source} cannot be loaded:", *(f"  {fault.field}: {fault.message}" for fault in faults)])


def _operator() -> Actor:
    return Actor(person_id=None, token_id=None, role="operator", request_id=f"demo-{uuid.uuid4().hex}")
