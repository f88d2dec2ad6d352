"""How does a view get the values of a body, and what do serializers know about the shop?"""

from typing import Any

from rest_framework.request import Request

from api.rest.fields import StrictSerializer
from api.rest.parsing import json_object
from costbase.calc.money import currency
from costbase.models import Shop


def edge_context(shop: Shop) -> dict[str, Any]:
    """What fields need to know to take and show measures and amounts as this shop does."""
    return {"unit_system": shop.unit_system, "currency": currency(shop.currency)}


def body_values(request: Request, shop: Shop, kind: type[StrictSerializer]) -> dict[str, Any]:
    """The values of a body that describes a whole thing.

    Raises:
        Problem: there is no JSON object.
        ValidationError: every member that is missing, unknown or wrong.
    """
    return _values(kind(data=json_object(request), context=edge_context(shop)))


def body_changes(request: Request, shop: Shop, kind: type[StrictSerializer]) -> dict[str, Any]:
    """The values of a body that names only what changes; what it names it names whole.

    Raises:
        Problem: there is no JSON object.
        ValidationError: every member that is unknown or wrong.
    """
    return _values(kind(data=json_object(request), context=edge_context(shop), changes=True))


def _values(serializer: StrictSerializer) -> dict[str, Any]:
    serializer.is_valid(raise_exception=True)
    values: dict[str, Any] = serializer.validated_data
    return values
