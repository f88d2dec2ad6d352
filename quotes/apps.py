"""The application that keeps what one coach will cost, and did cost."""

from django.apps import AppConfig


class QuotesConfig(AppConfig):
    """Customers, coaches, surveys, quotes and what became of them."""

    name = "quotes"
