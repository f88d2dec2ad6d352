"""Views that exist only to be asked: what do the base views let through, and what is kept?"""

from datetime import date
from typing import Any

from django.urls import path
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, MANAGER, NETWORK_MANAGER
from api.rest.base import NetworkView, ShopView
from api.rest.health import healthz, readyz
from costbase.models import NetworkEdition, ShopEdition
from costbase.scope import current_scope


class ShopProbe(ShopView):
    """GET lists slugs; POST adds one and then fails as it is told to."""

    roles = {"GET": frozenset({MANAGER, ANALYST, NETWORK_MANAGER}), "POST": frozenset({MANAGER})}

    def get(self, request: Request, kind: str) -> Response:
        shop, scope = self.context.shop, current_scope()
        assert scope is not None
        slugs = ShopEdition.objects.for_shop(shop).filter(kind=kind).values_list("slug", flat=True)
        return Response({"slugs": list(slugs), "actor": scope.actor.person_id, "request": scope.actor.request_id})

    def post(self, request: Request, kind: str) -> Response:
        shop = self.context.shop
        ShopEdition(shop=shop, kind=kind, slug="added", valid_from=date(2026, 1, 1), contents={}).save()
        body = request.data
        assert isinstance(body, dict)
        ending = body["ending"]
        if ending == "refused":
            raise ValidationError({"ending": ["Expected another ending."]})
        if ending == "broken":
            raise ZeroDivisionError
        return Response({}, status={"conflict": 409, "made": 201}[ending])


class NetworkProbe(NetworkView):
    roles = {"GET": frozenset({NETWORK_MANAGER})}

    def get(self, request: Request) -> Response:
        network = self.context.network
        NetworkEdition(network=network, kind="rate", slug="seen", valid_from=date(2026, 1, 1), contents={}).save()
        return Response({"slugs": [row.slug for row in NetworkEdition.objects.for_network(network)]})


handler404 = "api.rest.errors.handler404"
handler500 = "api.rest.errors.handler500"

urlpatterns: list[Any] = [
    path("shops/<slug:shop>/probe/<str:kind>", ShopProbe.as_view()),
    path("networks/<slug:network>/probe", NetworkProbe.as_view()),
    path("healthz", healthz),
    path("readyz", readyz),
]
