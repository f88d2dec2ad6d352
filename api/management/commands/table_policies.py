"""``manage.py table_policies quotes``: the migration that makes an application's new tables safe.

How to add a table of a shop:

1. Subclass `ShopOwned` (with ``@tracked`` where rows change later; with ``append_only = True`` where they
   never do). A reference to another table of the shop says ``db_constraint=False``; a unique constraint
   begins with "shop".
2. ``manage.py makemigrations quotes --name coach``
3. ``manage.py table_policies quotes`` prints a migration with what no migration of the application has yet:
   key (shop_id, id), keys that carry shop_id, row security with its policy, grants. Each has its reverse.
   With ``--write coach_policies`` it becomes the application's next migration file.
4. `tests/rules/test_tables.py` proves from the catalogue that nothing is missing.
"""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from django.apps import apps
from django.apps.config import AppConfig
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import models
from django.db.migrations.loader import MigrationLoader

from api.management import policy_sql
from api.management.policy_sql import Piece

_HEAD = '''"""Keys, row policies and grants of {names}."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("{app}", "{last}")]

    operations = [
'''
_OPERATION = '''        migrations.RunSQL(
            """
{forward}
""",
            """
{reverse}
""",
        ),
'''
# A key that carries shop_id needs the new primary key of the table that it refers to, so all of those come
# first.
_STAGES: tuple[Callable[[type[models.Model]], Iterator[Piece]], ...] = (
    policy_sql.primary_key,
    policy_sql.keys_within_shop,
)


class Command(BaseCommand):
    help = "Prints the migration that gives an application's new tables their keys, row policies and grants."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("app", help="label of the application, such as quotes")
        parser.add_argument("models", nargs="*", help="names of models; every model of the application when none is named")
        parser.add_argument("--all", action="store_true", help="also print what a migration has already")
        parser.add_argument("--write", metavar="NAME", help="make it the application's next migration, under this name")

    def handle(self, *args: Any, **options: Any) -> None:
        config = _app(options["app"])
        chosen = _models(config, options["models"])
        written = "" if options["all"] else _written(config)
        steps = list(_steps(chosen, written))
        if not steps:
            raise CommandError(f"the migrations of {config.label} have everything; --all prints it again")
        last = _last_migration(config)
        text = _migration(config, last, steps)
        if options["write"] is None:
            self.stdout.write(text, ending="")
        else:
            path = _folder(config) / f"{int(last[:4]) + 1:04d}_{options['write']}.py"
            path.write_text(text)
            self.stdout.write(str(path))


def _steps(chosen: list[type[models.Model]], written: str) -> Iterator[tuple[str, list[Piece]]]:
    """The table's name with its pieces, one entry an operation."""
    for stage in _STAGES:
        for model in chosen:
            yield from _missing(model, stage(model), written)
    for model in chosen:
        yield from _missing(model, [*policy_sql.policies(model), *policy_sql.grants(model)], written)


def _missing(
    model: type[models.Model], pieces: Iterator[Piece] | list[Piece], written: str
) -> Iterator[tuple[str, list[Piece]]]:
    missing = [piece for piece in pieces if piece.mark not in written]
    if missing:
        yield model._meta.db_table, missing


def _migration(config: AppConfig, last: str, steps: list[tuple[str, list[Piece]]]) -> str:
    names = ", ".join(dict.fromkeys(table for table, _ in steps))
    operations = [
        _OPERATION.format(
            forward="\n".join(piece.forward for piece in pieces),
            reverse="\n".join(piece.reverse for piece in reversed(pieces)),
        )
        for _, pieces in steps
    ]
    return _HEAD.format(names=names, app=config.label, last=last) + "".join(operations) + "    ]\n"


def _app(label: str) -> AppConfig:
    try:
        return apps.get_app_config(label)
    except LookupError as error:
        raise CommandError(f"expected one of {', '.join(sorted(apps.app_configs))}, got {label}") from error


def _models(config: AppConfig, names: list[str]) -> list[type[models.Model]]:
    known = {model.__name__.lower(): model for model in config.get_models() if model._meta.managed}
    unknown = [name for name in names if name.lower() not in known]
    if unknown:
        raise CommandError(f"{config.label} has no {', '.join(unknown)}; expected some of {', '.join(sorted(known))}")
    chosen = [known[name.lower()] for name in names] if names else list(known.values())
    return sorted(chosen, key=lambda model: model._meta.db_table)


def _folder(config: AppConfig) -> Path:
    return Path(config.path) / "migrations"


def _written(config: AppConfig) -> str:
    return "\n".join(path.read_text() for path in sorted(_folder(config).glob("*.py")))


def _last_migration(config: AppConfig) -> str:
    loader = MigrationLoader(None)
    leaves = [name for app, name in loader.graph.leaf_nodes(config.label) if app == config.label]
    if len(leaves) != 1:
        raise CommandError(f"expected one last migration of {config.label}, found {', '.join(leaves) or 'none'}")
    return str(leaves[0])
