"""Exports: what is in force on a day as a file, which an import takes back without a difference.

Files hold what things cost the shop, so they are for managers and analysts.
"""

from collections.abc import Iterable
from typing import ClassVar

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request

from api.accounts.roles import ANALYST, MANAGER, NETWORK_MANAGER
from api.rest.base import NetworkView, ShopView
from api.rest.errors import Problem, bad_parameter
from api.rest.openapi import file_answers, operation, query
from api.rest.queries import day_parameter, known_parameters
from costbase.calc.contents_table import KINDS
from costbase.exchange.csv_tables import CSV_KINDS
from costbase.models import Network, Shop
from costbase.reports.exports import exported
from costbase.snapshot import SEVERITY
from quotes.actions.priced import network_day, shop_day

EXPORT_KINDS = (*KINDS, SEVERITY)
_REFUSALS = ("bad_parameter", "unknown_parameter")
_ON = query("on", "The day on which they are in force; today unless told.", OpenApiTypes.DATE)
_OWNERS = ("shop", "all")
_OWNER = query("owner", "The shop's own only, or its network's under all other slugs too.", enum=list(_OWNERS), default="all")


class AnyAccept(BaseContentNegotiation):
    """The file has one form, whatever Accept says; a refusal is a problem document, as everywhere."""

    def select_parser(self, request: Request, parsers: Iterable[BaseParser]) -> BaseParser:
        return next(iter(parsers))

    def select_renderer(
        self, request: Request, renderers: Iterable[BaseRenderer], format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        first = next(iter(renderers))
        return first, first.media_type or ""


def _file(request: Request, owner: Shop | Network, kind: str, *, with_network: bool) -> HttpResponse:
    if kind not in EXPORT_KINDS:
        raise Problem("not_found", f"Expected one of {', '.join(EXPORT_KINDS)}, not {kind[:40]}.")
    today = shop_day(owner) if isinstance(owner, Shop) else network_day()
    day = day_parameter(request, "on") or today
    is_table = kind in CSV_KINDS
    name = f"{kind}-{day.isoformat()}.{'csv' if is_table else 'toml'}"
    return HttpResponse(
        exported(owner, kind, day, with_network=with_network),
        content_type="text/csv; charset=utf-8" if is_table else "application/toml; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


class Export(ShopView):
    roles: ClassVar = {"GET": frozenset({MANAGER, ANALYST})}
    content_negotiation_class = AnyAccept

    @extend_schema(parameters=[_ON, _OWNER], responses=file_answers(_REFUSALS))
    @operation("export_editions", "What is in force as a file: CSV for rates, materials and prices, else TOML", answers={})
    def get(self, request: Request, kind: str) -> HttpResponse:
        """Imported again from the same day on, it makes no difference."""
        known_parameters(request, ("on", "owner"))
        owner = request.query_params.get("owner", "all")
        if owner not in _OWNERS:
            raise bad_parameter("owner", f"Expected {' or '.join(_OWNERS)}.")
        return _file(request, self.context.shop, kind, with_network=owner == "all")


class NetworkExport(NetworkView):
    roles: ClassVar = {"GET": frozenset({NETWORK_MANAGER})}
    content_negotiation_class = AnyAccept

    @extend_schema(parameters=[_ON], responses=file_answers(_REFUSALS))
    @operation("export_network_editions", "What the network has in force as a file", answers={})
    def get(self, request: Request, kind: str) -> HttpResponse:
        """As for a shop."""
        known_parameters(request, ("on",))
        return _file(request, self.context.network, kind, with_network=False)
