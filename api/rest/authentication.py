"""Whose request is it?

In a file of its own because REST framework's views import it by name from the settings, before any view of ours exists.
"""

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed, NotAuthenticated
from rest_framework.request import Request

from api.accounts.tokens import Identity, TokenRefused, bearer, identify


class BearerAuthentication(BaseAuthentication):
    """Authorization: Bearer rq_<prefix>_<secret>. Refusals carry the codes token_missing, token_malformed and
    so on.
    """

    def authenticate(self, request: Request) -> tuple[None, Identity]:
        try:
            return None, identify(bearer(request.headers.get("Authorization")), now=timezone.now())
        except TokenRefused as refused:
            kind = NotAuthenticated if refused.code == "missing" else AuthenticationFailed
            raise kind(detail=str(refused), code=f"token_{refused.code}") from refused

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"
