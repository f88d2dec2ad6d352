"""How does a request get from its token to its handler?

Authenticate (401), find the shop or network of the address (404), check the role for the method (403), then
run the handler with the scope open. The scope is the only transaction of the request: it commits when the
answer is below 400 and is rolled back when it is not, also where the handler raised and the exception became
a problem document.

A resource subclasses `ShopView` or `NetworkView`, says `roles`, and finds the open shop or network in
``self.context``. The slug of the address is taken out before the handler is called:
``path("shops/<slug:shop>/coaches/<int:coach>", ...)`` calls ``get(request, coach)``.
"""

from collections.abc import Mapping
from contextlib import ExitStack
from http import HTTPStatus
from typing import Any, ClassVar, cast

from django.core.exceptions import ImproperlyConfigured
from django.db import transaction
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.views import APIView

from api.accounts.tokens import Identity
from api.rest.authentication import BearerAuthentication
from api.rest.request_log import bind_identity, request_id_of
from api.tenancy import NetworkContext, ShopContext, open_network, open_shop

_METHODS = ("get", "post", "put", "patch", "delete")


class _ScopedView(APIView):
    """What `ShopView` and `NetworkView` share; resources subclass those."""

    roles: ClassVar[Mapping[str, frozenset[str]]]
    place: ClassVar[str]  # the name of the address's part that holds the slug: "shop" or "network"

    # OPTIONS would describe views to anybody; the schema does that.
    http_method_names = [*_METHODS, "head"]
    authentication_classes = [BearerAuthentication]

    def __init_subclass__(cls, **kwargs: Any) -> None:
        """Refuses a view whose methods and roles differ, so that no handler is ever reached without a rule
        for it.
        """
        super().__init_subclass__(**kwargs)
        handled = {method.upper() for method in _METHODS if hasattr(cls, method)}
        if handled and handled != set(getattr(cls, "roles", {})):
            raise ImproperlyConfigured(f"{cls.__name__}.roles must name {', '.join(sorted(handled))} and nothing else")

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        self._slug: str = kwargs.pop(self.place)
        with ExitStack() as self._scope:
            response = super().dispatch(request, *args, **kwargs)
            if response.status_code >= HTTPStatus.BAD_REQUEST and self._is_open:
                transaction.set_rollback(True)
        return response

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        identity = self.identity
        bind_identity(identity, f"{self.place} {self._slug}")
        self._enter(identity, request_id_of(request))
        self._is_open = True
        method = "GET" if request.method == "HEAD" else str(request.method)
        allowed = self.roles.get(method)
        # A method without a rule has no handler either, and is answered with 405.
        if allowed is not None and identity.role not in allowed:
            raise PermissionDenied(
                detail=f"The role {identity.role} may not do this; expected {' or '.join(sorted(allowed))}.",
                code="role_not_allowed",
            )

    @property
    def identity(self) -> Identity:
        """Whose request this is."""
        return cast(Identity, self.request.auth)

    _is_open = False

    def _enter(self, identity: Identity, request_id: str) -> None:
        raise NotImplementedError


class ShopView(_ScopedView):
    """A resource of one shop: ``/api/v1/shops/{shop}/...``."""

    place = "shop"
    context: ShopContext

    def _enter(self, identity: Identity, request_id: str) -> None:
        self.context = self._scope.enter_context(open_shop(identity, self._slug, request_id))


class NetworkView(_ScopedView):
    """A resource of one network: ``/api/v1/networks/{network}/...``."""

    place = "network"
    context: NetworkContext

    def _enter(self, identity: Identity, request_id: str) -> None:
        self.context = self._scope.enter_context(open_network(identity, self._slug, request_id))
