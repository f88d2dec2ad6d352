"""Two shops with a person in every role, and clients that speak for them."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from django.http.response import HttpResponseBase
from rest_framework.test import APIClient

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from costbase.exchange.toml_tables import read_toml
from costbase.models import Network, NetworkEdition, Shop
from costbase.scope import Scope, network_scope, shop_scope
from quotes.exchange.kept_kinds import READERS
from tests import make

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
SHOP_ROLES = (ESTIMATOR, MANAGER, ANALYST)
ROLES = (*SHOP_ROLES, NETWORK_MANAGER)


class Office:
    """One shop, reached as any of its people."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.tokens = {role: make.token(shop, role) for role in SHOP_ROLES}
        self.tokens[NETWORK_MANAGER] = make.token(shop.network, NETWORK_MANAGER)

    def url(self, path: str) -> str:
        return f"/api/v1/shops/{self.shop.slug}/{path}"

    def ask(
        self,
        method: str,
        path: str,
        body: object = None,
        *,
        role: str = MANAGER,
        headers: dict[str, str] | None = None,
        token: str | None = None,
    ) -> Any:
        """The answer to one request; `path` is below the shop unless it begins with a slash."""
        client = APIClient(raise_request_exception=False)
        sent = {"Authorization": f"Bearer {token or self.tokens[role]}", **(headers or {})}
        url = path if path.startswith("/") else self.url(path)
        answer: HttpResponseBase = getattr(client, method.lower())(url, body, format="json", headers=sent)
        return answer

    def get(self, path: str, **kwargs: Any) -> Any:
        return self.ask("GET", path, **kwargs)

    def post(self, path: str, body: object, **kwargs: Any) -> Any:
        return self.ask("POST", path, body, **kwargs)

    def change(self, path: str, body: object, *, method: str = "PATCH", **kwargs: Any) -> Any:
        """A change of the version that stands now."""
        tag = self.get(path)["ETag"]
        return self.ask(method, path, body, headers={"If-Match": tag}, **kwargs)

    @contextmanager
    def scope(self) -> Iterator[Scope]:
        """The shop's scope, to look at rows with."""
        with shop_scope(self.shop.pk, make.OPERATOR) as scope:
            yield scope


def office(**kwargs: Any) -> Office:
    return Office(make.shop(**kwargs))


@cache
def _severity_rules() -> Any:
    (staged,) = read_toml("severity.toml", (FIXTURES / "network" / "severity.toml").read_bytes(), READERS).entries
    return staged.contents


def with_severity_rules(network: Network) -> None:
    """Puts the severity rules that ship with the service in force."""
    with network_scope(network.pk, make.OPERATOR):
        NetworkEdition.objects.for_network(network).create(
            network=network, kind="severity", slug="severity", valid_from=date(2020, 1, 1), contents=_severity_rules()
        )


def problem(answer: Any, status: int) -> dict[str, Any]:
    """The problem document of a refusal, whose form is checked on the way."""
    assert answer.status_code == status, answer.content.decode()
    assert answer["Content-Type"] == "application/problem+json"
    document: dict[str, Any] = answer.json()
    assert document["status"] == status
    assert document["type"] == f"/api/problems/{document['code']}"
    assert document["title"]
    assert document["detail"]
    for fault in document.get("errors", []):
        assert fault["code"]
        assert fault["detail"]
        assert len({"pointer", "parameter", "header"} & set(fault)) == 1
    return document


def places(answer: Any, status: int = 422) -> dict[str, str]:
    """The faults of a refusal: code by place."""
    errors = problem(answer, status)["errors"]
    return {fault.get("pointer") or fault.get("parameter") or fault["header"]: fault["code"] for fault in errors}
