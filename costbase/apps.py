"""The application that keeps what a shop charges and buys."""

from django.apps import AppConfig


class CostbaseConfig(AppConfig):
    """Networks, shops, and the editions of everything that a quote is priced against."""

    name = "costbase"
