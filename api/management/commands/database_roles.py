"""``manage.py database_roles``: the SQL that makes both roles and the database on a server that we did not
start.
"""

from typing import Any

from django.core.management.base import BaseCommand

from api.embedded import roles


class Command(BaseCommand):
    help = "Prints a psql script that makes the owner, the service's login role and the database."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(roles.script(), ending="")
