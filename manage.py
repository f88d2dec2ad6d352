#!/usr/bin/env python
"""Runs a command of the service: ``python manage.py <command>``."""

import os
import sys

from django.core.management import execute_from_command_line


def main() -> None:
    """Hands the command line to Django; for the demo, once the servers that it needs are there."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")
    if sys.argv[1:2] == ["demo"]:
        from api.management.demo_servers import demo_servers

        with demo_servers(sys.argv[2:]):
            run()
    else:
        run()


def run() -> None:
    """Runs the command in the environment as it is now."""
    # A task that is published before the Celery application exists goes to another broker.
    import api.celery  # noqa: F401

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
