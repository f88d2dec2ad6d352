"""The application that keeps who may do what in which shop or network."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    name = "api.accounts"
    label = "accounts"

    def ready(self) -> None:
        # Imported for its effect: it registers the check of the login role with Django.
        from api.accounts import login_role  # noqa: F401
