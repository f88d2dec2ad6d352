"""Which SQL makes a table of ours safe: its keys, its row policies, its grants?

The text is printed once by ``manage.py table_policies`` and pasted into a migration, which then imports none
of this. `Piece.mark` is the words by which a later run finds out that a migration has the piece already.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.core.management.base import CommandError
from django.db import models
from django.db.models.fields.related import ForeignKey

from api.embedded.roles import APP
from costbase.models.tables import ShopOwned, row_policy_of

# The sub-select is worked out once a statement, not once a row. A setting that was set earlier in the session
# and is local to a transaction reads '' afterwards, not NULL.
_SHOP = "(SELECT NULLIF(current_setting('app.shop_id', true), '')::bigint)"
_NETWORK = "(SELECT NULLIF(current_setting('app.network_id', true), '')::bigint)"
_WRITES = "(SELECT current_setting('app.network_write', true)) = 'on'"
_LONGEST_NAME = 63

Table = type[models.Model]


@dataclass(frozen=True, slots=True)
class Piece:
    """One statement with what undoes it."""

    mark: str
    forward: str
    reverse: str


def primary_key(model: Table) -> Iterator[Piece]:
    """The key (shop_id, id) of a shop table; other tables keep the key that Django gives them."""
    if row_policy_of(model) != "shop":
        return
    _refuse_lone_unique_fields(model)
    table, key = _table(model), _key_column(model)
    name = _name(f"{table}_pkey")
    swap = f"ALTER TABLE {table} DROP CONSTRAINT {name},\n    ADD CONSTRAINT {name} PRIMARY KEY"
    yield Piece(f"{name} PRIMARY KEY (shop_id, ", f"{swap} (shop_id, {key});", f"{swap} ({key});")


def keys_within_shop(model: Table) -> Iterator[Piece]:
    """The keys that carry shop_id, one for every reference of a shop table to another."""
    if not issubclass(model, ShopOwned):
        return
    for field in model._meta.local_fields:
        target = field.related_model
        if not isinstance(field, ForeignKey) or not isinstance(target, type):
            continue
        _refuse_wrong_reference(model, field, target)
        if row_policy_of(target) == "shop":
            table, name = _table(model), _name(f"{_table(model)}_{field.name}_in_shop")
            yield Piece(
                f"ADD CONSTRAINT {name} FOREIGN KEY",
                f"ALTER TABLE {table} ADD CONSTRAINT {name} FOREIGN KEY (shop_id, {field.column})\n"
                f"    REFERENCES {_table(target)} (shop_id, {_key_column(target)})\n"
                f"    DEFERRABLE INITIALLY IMMEDIATE;",
                f"ALTER TABLE {table} DROP CONSTRAINT {name};",
            )


def policies(model: Table) -> Iterator[Piece]:
    """Row security, forced so that it binds the owner of the table too, and the policies of the table's
    class.
    """
    table = _table(model)
    if not row_policy_of(model):
        return
    yield Piece(
        f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
        f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;",
        f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;",
    )
    if row_policy_of(model) == "shop":
        yield _policy(table, "of_shop", "FOR ALL", f"shop_id = {_SHOP}", checks=True)
    else:
        yield _policy(table, "read", "FOR SELECT", f"network_id = {_NETWORK}", checks=False)
        yield _policy(table, "write", "FOR ALL", f"network_id = {_NETWORK} AND {_WRITES}", checks=True)


def grants(model: Table) -> Iterator[Piece]:
    """What the login role may do: first nothing, whatever the database's default privileges say, then what
    the table is for.
    """
    table = _table(model)
    may = "SELECT, INSERT" if getattr(model, "append_only", False) else "SELECT, INSERT, UPDATE, DELETE"
    yield Piece(
        f"REVOKE ALL ON {table} FROM {APP};\n",
        f"REVOKE ALL ON {table} FROM {APP};\nGRANT {may} ON {table} TO {APP};",
        f"REVOKE ALL ON {table} FROM {APP};",
    )


def _policy(table: str, suffix: str, command: str, condition: str, *, checks: bool) -> Piece:
    name = _name(f"{table}_{suffix}")
    check = f"\n    WITH CHECK ({condition})" if checks else ""
    return Piece(
        f"CREATE POLICY {name} ",
        f"CREATE POLICY {name} ON {table} {command}\n    USING ({condition}){check};",
        f"DROP POLICY {name} ON {table};",
    )


def _refuse_wrong_reference(model: Table, field: "ForeignKey[Any, Any]", target: Table) -> None:
    place = f"{model._meta.label}.{field.name}"
    if row_policy_of(target) == "shop" and field.db_constraint:  # type: ignore[attr-defined]
        raise CommandError(f"{place}: expected db_constraint=False, because the key printed here carries shop_id")
    if row_policy_of(target) == "network":
        raise CommandError(f"{place}: expected a number, because a shop's row holds no row of its network")


def _refuse_lone_unique_fields(model: Table) -> None:
    lone = [field.name for field in model._meta.local_fields if field.unique and not field.primary_key]
    if lone:
        expected = "expected a UniqueConstraint that begins with shop instead of unique"
        raise CommandError(f"{model._meta.label}: {expected} {', '.join(lone)}")


def _table(model: Table) -> str:
    return model._meta.db_table


def _key_column(model: Table) -> str:
    return next(str(field.column) for field in model._meta.local_fields if field.primary_key)


def _name(name: str) -> str:
    if len(name) > _LONGEST_NAME:
        raise CommandError(f"{name} has more than {_LONGEST_NAME} characters; give the model a shorter db_table")
    return name
