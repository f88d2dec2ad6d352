"""``manage.py demo``: quotes an invented coach over the API, prints the quote, and serves until Ctrl-C.

`api/management/demo_servers.py` has put servers, key and hosts into the environment by now, where nobody had named them.
"""

import time
from collections.abc import Mapping
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from rich.console import Console

from api.celery import app
from api.embedded.account import ServerStartError
from api.environment import EnvironmentFault, read
from api.management import children, demo_shop
from api.management.children import Child
from api.management.demo_quote import Document, Office, issued_quote
from api.management.demo_servers import ROOT, Options, add_options, end_calmly, options_of
from api.management.demo_shop import Loaded
from api.management.printed_quote import Heading, print_quote
from api.management.progress import Progress

FIXTURES = ROOT / "fixtures"
LOOK_SECONDS = 0.5
PING_SECONDS = 0.5
DOCUMENTATION = "/api/docs"


class Command(BaseCommand):
    help = "Quotes an invented coach over the API, prints the quote, and serves until Ctrl-C."
    # The tables that checks ask for are not there yet.
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        add_options(parser)

    def handle(self, *args: Any, **values: Any) -> None:
        options = options_of(values)
        running: list[Child] = []
        try:
            self._run(options, running)
        except (ServerStartError, EnvironmentFault) as error:
            raise CommandError(str(error)) from error
        finally:
            end_calmly()
            children.stop(running)

    def _run(self, options: Options, running: list[Child]) -> None:
        progress = Progress()
        read().owner_url()  # Asked for before anything is done: without it nothing can be migrated.
        logs = options.data / "logs"
        logs.mkdir(mode=0o700, exist_ok=True)
        with progress.step("Bringing the tables up to date"):
            children.migrate(logs)
        with progress.step("Loading the invented shop from fixtures/"):
            loaded = demo_shop.load(FIXTURES)
            tokens = demo_shop.tokens_for(loaded, FIXTURES / "demo", options.data / "tokens.json")
        port = children.free_port(options.port)
        with progress.step("Starting the web, a worker and its clock"):
            running.append(children.start_web(logs, port))
            running.append(children.start_worker(logs))
            running.append(children.start_beat(logs))
            children.await_ready(running[0], port)
            children.await_answer(running[1], lambda: bool(app.control.ping(timeout=PING_SECONDS)))
        with progress.step("Quoting the coach over the API"):
            office = Office(port, loaded.shop.slug, tokens["estimator"])
            quote = issued_quote(office, FIXTURES / "demo")
            coach = office.get(f"coaches/{quote['coach']}").document
        console = Console(highlight=False)
        print_quote(console, quote, Heading(shop=loaded.shop.name, coach=coach["label"]))
        _print_ways_in(console, port, loaded, quote, tokens)
        if options.once:
            progress.say("\nDone. Without --once it goes on serving.")
        else:
            progress.say(f"\nServing until Ctrl-C. Logs are in {logs}.")
            _serve(running)
            progress.say("Stopping.")


def _print_ways_in(console: Console, port: int, loaded: Loaded, quote: Document, tokens: Mapping[str, str]) -> None:
    """Where the service answers, and with which tokens. No line is broken, so that each can be copied whole."""
    web, below = f"http://{children.HOST}:{port}", f"/api/v1/shops/{loaded.shop.slug}"
    lines = [
        "",
        "The API",
        f"  documentation    {web}{DOCUMENTATION}",
        f"  this quote       {web}{below}/quotes/{quote['id']}",
        "",
        f"A token for each role; they open shop {loaded.shop.slug} and network {loaded.network.slug}",
        *(f"  {role:<16} {token}" for role, token in tokens.items()),
        "",
        "To begin with, and for the requests of the README",
        f"  SHOP={web}{below}",
        f"  TOKEN={tokens['estimator']}",
        '  curl -H "Authorization: Bearer $TOKEN" $SHOP/quotes',
    ]
    for line in lines:
        console.print(line, soft_wrap=True, markup=False, style="bold" if line and not line.startswith(" ") else "")


def _serve(running: list[Child]) -> None:
    """Returns on Ctrl-C.

    Raises:
        ServerStartError: a child has ended by itself.
    """
    try:
        while True:
            for child in running:
                if not child.lives():
                    raise child.ended()
            time.sleep(LOOK_SECONDS)
    except KeyboardInterrupt:
        return
