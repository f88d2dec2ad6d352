"""Does every route, also one that was added a minute ago, refuse whom it must, and has it a test?

Nothing here names a route: they are read from the URL configuration.
"""

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from api.accounts.models import Token
from api.accounts.roles import NETWORK_ROLES, ROLES, SHOP_ROLES
from api.rest.base import NetworkView, ShopView
from api.rest.codes import CODES
from costbase.models import Network, Shop
from tests import make

ROOT = Path(__file__).resolve().parents[2]
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE")
# What a route's parameters are filled with; nothing has these names or numbers.
FILLED = {"int": "999999", "slug": "nothing", "str": "nothing", "uuid": "00000000-0000-4000-8000-000000000000", "kind": "rates"}
# Open to anybody, each with its reason; what is not listed here must be a view of a shop or a network, or say why below.
OPEN = {
    "healthz": "a load balancer has no token",
    "readyz": "a load balancer has no token",
    "metrics": "whoever collects figures has a token of its own, METRICS_TOKEN, and there is no such address without it",
    "api/docs": "how to speak with the service is no secret",
    "api/docs/start.js": "part of that page",
    "api/docs/<str:name>": "part of that page",
    "api/openapi.yaml": "the same in a form for programs",
    "api/v1/owner/<str:token>": "an owner comes by a link whose secret stands in the address and opens one document",
    "api/v1/owner/<str:token>/acceptance": "the same link",
    "api/v1/owner/<str:token>/refusal": "the same link",
    "api/problems": "what codes mean is no secret",
    "api/problems/<slug:code>": "what a code means is no secret",
}
# Below these addresses people come with a browser or a link; their own tests walk their own routes.
OF_PAGES = ("pages/", "owner/", "static/")


@dataclass(frozen=True)
class Route:
    pattern: str
    view: Any

    @property
    def view_class(self) -> type | None:
        return getattr(self.view, "view_class", None) or getattr(self.view, "cls", None)

    def address(self, place: str) -> str:
        """The address with the shop's or network's slug, and with parameters that nothing has."""
        own = re.sub(r"<slug:(shop|network)>", place, self.pattern)
        return "/" + re.sub(r"<(\w+):\w+>", lambda match: FILLED[match[1]], own)


def _routes(patterns: list[Any], before: str = "") -> Iterator[Route]:
    for entry in patterns:
        pattern = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from _routes(entry.url_patterns, pattern)
        elif isinstance(entry, URLPattern):
            yield Route(pattern, entry.callback)


ROUTES = [route for route in _routes(get_resolver().url_patterns) if not route.pattern.startswith(OF_PAGES)]
SCOPED = [route for route in ROUTES if route.pattern not in OPEN]


def name(value: object) -> str | None:
    return value.pattern if isinstance(value, Route) else None


@dataclass
class Places:
    """A shop and its network with a token for every role, and another of each."""

    shop: Shop
    network: Network
    tokens: dict[str, str]
    other_tokens: dict[str, str]


@pytest.fixture
def places(db: None) -> Places:
    def tokens(shop: Shop) -> dict[str, str]:
        return {
            **{role: make.token(shop, role) for role in SHOP_ROLES},
            **{role: make.token(shop.network, role) for role in NETWORK_ROLES},
        }

    one, two = make.shop(shares_learning=True), make.shop(shares_learning=True)
    return Places(one, one.network, tokens(one), tokens(two))


def ask(route: Route, method: str, place: str, authorization: str | None) -> Any:
    headers = {} if authorization is None else {"Authorization": authorization}
    # Whatever the body: who may not come in is refused before it is read.
    body = "{}" if method in ("POST", "PUT", "PATCH") else ""
    client = Client(raise_request_exception=False)
    return client.generic(method, route.address(place), body, "application/json", headers=headers)


def handled(route: Route) -> list[str]:
    view = route.view_class
    return [method for method in METHODS if hasattr(view, method.lower()) or (method == "HEAD" and hasattr(view, "get"))]


def slug(route: Route, places: Places) -> str:
    return places.network.slug if issubclass(route.view_class or object, NetworkView) else places.shop.slug


def code(answer: Any, status: int, where: str) -> str | None:
    assert answer.status_code == status, f"{where}: {answer.status_code} {answer.content[:300]!r}"
    if answer.content:
        assert answer["Content-Type"] == "application/problem+json", where
        found: str = answer.json()["code"]
        return found
    return None  # HEAD


@pytest.mark.parametrize("route", ROUTES, ids=name)
def test_a_route_belongs_to_a_shop_or_a_network_or_is_open_for_a_reason(route: Route) -> None:
    if route.pattern in OPEN:
        return
    assert route.view_class is not None, f"{route.pattern} is no view class and stands in no list of open routes"
    assert issubclass(route.view_class, ShopView | NetworkView), route.pattern
    place = "shop" if issubclass(route.view_class, ShopView) else "network"
    assert re.match(rf"api/v1/{place}s/<slug:{place}>(/|$)", route.pattern)
    assert not route.pattern.endswith("/")


def test_the_list_of_open_routes_names_no_route_that_is_gone() -> None:
    assert set(OPEN) <= {route.pattern for route in ROUTES}


@pytest.mark.parametrize("route", SCOPED, ids=name)
def test_nobody_comes_in_without_a_token_that_is_good(route: Route, places: Places) -> None:
    good = next(iter(places.tokens.values()))
    expired = make.token(places.shop, "manager", now=datetime.now(UTC) - timedelta(days=60))
    revoked = make.token(places.shop, "manager")
    Token.objects.filter(prefix=revoked.split("_")[1]).update(revoked=datetime.now(UTC))
    cases = {
        None: "token_missing",
        "": "token_missing",
        "Basic dTpw": "token_malformed",
        "Bearer": "token_malformed",
        "Bearer rq_x": "token_malformed",
        f"Bearer {good[:-1]}": "token_malformed",
        f"Bearer {good[:12]}{'A' * 43}": "token_unknown",
        f"Bearer {expired}": "token_expired",
        f"Bearer {revoked}": "token_revoked",
    }
    for method, (authorization, expected) in itertools.product(handled(route), cases.items()):
        where = f"{method} {route.pattern} {expected}"
        answer = ask(route, method, slug(route, places), authorization)
        assert code(answer, 401, where) in (expected, None), where
        assert answer["WWW-Authenticate"].startswith("Bearer"), where


@pytest.mark.parametrize("route", SCOPED, ids=name)
def test_a_token_of_another_shop_or_network_finds_nothing(route: Route, places: Places) -> None:
    for method, (role, token) in itertools.product(handled(route), places.other_tokens.items()):
        answer = ask(route, method, slug(route, places), f"Bearer {token}")
        assert code(answer, 404, f"{method} {route.pattern} {role}") in ("not_found", None)


@pytest.mark.parametrize("route", SCOPED, ids=name)
def test_each_role_is_let_in_or_refused_as_the_view_says(route: Route, places: Places) -> None:
    allowed = route.view_class.roles  # type: ignore[union-attr]
    at_home = SHOP_ROLES | NETWORK_ROLES if issubclass(route.view_class or object, ShopView) else NETWORK_ROLES
    for method, role in itertools.product(handled(route), sorted(ROLES)):
        where = f"{method} {route.pattern} {role}"
        answer = ask(route, method, slug(route, places), f"Bearer {places.tokens[role]}")
        if role not in at_home:
            assert code(answer, 404, where) in ("not_found", None)
        elif role not in allowed["GET" if method == "HEAD" else method]:
            assert code(answer, 403, where) in ("role_not_allowed", None)
        else:
            # Nothing has the ids that the addresses name, and the bodies are empty; but nobody stumbles.
            assert answer.status_code not in (401, 403, 405), where
            assert answer.status_code < 500, f"{where}: {answer.content[:300]!r}"


@pytest.mark.parametrize("route", SCOPED, ids=name)
def test_a_method_that_a_route_does_not_know_is_refused_and_the_known_ones_are_named(route: Route, places: Places) -> None:
    for method in sorted({*METHODS, "OPTIONS", "TRACE"} - set(handled(route))):
        role = "network_manager" if issubclass(route.view_class or object, NetworkView) else "manager"
        answer = ask(route, method, slug(route, places), f"Bearer {places.tokens[role]}")
        assert code(answer, 405, f"{method} {route.pattern}") in ("method_not_allowed", None)
        assert set(answer["Allow"].split(", ")) == set(handled(route))


# Tests and documentation of what there is ---------------------------------------------------------------


def _test_sources() -> str:
    folders = ("rest", "rules", "accounts", "scenarios", "pages", "actions", "exchange")
    files = [path for folder in folders for path in sorted((ROOT / "tests" / folder).rglob("*.py"))]
    return "\n".join(path.read_text() for path in files if path.name != Path(__file__).name)


def _mentioned(pattern: str) -> re.Pattern[str]:
    """What a test writes for a route: its fixed parts in order, anything (braces and all) for its parameters."""
    below = re.sub(r"^api/v1/(shops|networks)/<slug:(shop|network)>/?", "", pattern)
    parts = [re.escape(part) for part in re.split(r"<\w+:\w+>", below)]
    return re.compile(r"[\"'/{}\])]" + r"(?:\{[^}]*(?:\[[^\]]*\])?[^}]*\}|[\w.%-]+)".join(parts) + r"(?![\w-])")


@pytest.mark.parametrize("route", ROUTES, ids=name)
def test_every_route_has_a_test(route: Route) -> None:
    if not _mentioned(route.pattern).search(_test_sources()):
        # Without the sources in the message, which an assertion would show.
        pytest.fail(f"no test asks for {route.pattern}")


def test_every_documented_code_says_its_status_and_meaning_once() -> None:
    written = re.findall(r'^    "(\w+)": \($|^    "(\w+)": \([0-9]', (ROOT / "api/rest/codes.py").read_text(), re.MULTILINE)
    assert len(written) == len(CODES)
    for found, kind in CODES.items():
        assert re.fullmatch("[a-z][a-z0-9_]*", found)
        assert kind.title
        assert kind.meaning.endswith(".")
        assert 400 <= kind.status < 600
