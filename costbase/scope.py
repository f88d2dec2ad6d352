"""Which shop or network does the work at hand belong to, and who does it?

`shop_scope` and `network_scope` open the only transaction of a request or task. In the same breath they bind,
for that transaction alone, the settings that PostgreSQL's row policies compare with and the author that
history writes beside every change, so that nothing can be read or written before it is known for whom.

The settings are local to the transaction: after the last scope has closed they are empty, and every policy
then shows no row. A streamed answer that is produced after its scope has closed reads nothing, silently; it
must open a scope of its own.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.db import connection, transaction


@dataclass(frozen=True, slots=True)
class Actor:
    """Who acts. Ids only: history outlives a person's name.

    `person_id` and `token_id` are None for work that no person asked for (a nightly run) or that an operator
    does at the console; `role` then says which ("system", "operator"). `request_id` ties the change to the
    log of the request or run.
    """

    person_id: int | None
    token_id: int | None
    role: str
    request_id: str


@dataclass(frozen=True, slots=True)
class Scope:
    """What is open now. `shop_id` is None in a network scope; `network_id` is the shop's network or the
    network itself.
    """

    shop_id: int | None
    network_id: int
    actor: Actor


_current: ContextVar[Scope | None] = ContextVar("current_scope", default=None)

# The network comes from the shop itself, in the same statement: a second round trip would cost every request
# as much again.
_BIND_SHOP = """
SELECT set_config('app.shop_id', %(shop)s, true),
       set_config('app.network_id', coalesce(
           (SELECT network_id::text FROM costbase_shop WHERE id = %(shop)s::bigint), ''), true),
       set_config('app.network_write', '', true),
       set_config('pghistory.context_metadata', %(context)s, true)
"""
_BIND_NETWORK = """
SELECT set_config('app.shop_id', '', true),
       set_config('app.network_id', %(network)s, true),
       set_config('app.network_write', 'on', true),
       set_config('pghistory.context_metadata', %(context)s, true)
"""
_BIND_NOTHING = """
SELECT set_config('app.shop_id', '', true), set_config('app.network_id', '', true),
       set_config('app.network_write', '', true), set_config('pghistory.context_metadata', '', true)
"""


@contextmanager
def shop_scope(shop_id: int, actor: Actor) -> Iterator[Scope]:
    """Opens the transaction of one shop's work: its rows can be read and written, its network's rows can be
    read.

    Raises:
        RuntimeError: another shop's or a network's scope is open, or a transaction that no scope opened.
        LookupError: there is no such shop.
    """
    outer = _current.get()
    if outer is not None and outer.shop_id != shop_id:
        raise RuntimeError(f"{_words(outer)} is open; close it before that of shop {shop_id} is opened")
    with _opened(outer, lambda: _bind_shop(shop_id, actor)) as scope:
        yield scope


@contextmanager
def network_scope(network_id: int, actor: Actor) -> Iterator[Scope]:
    """Opens the transaction of one network's work: its rows can be read and written, no shop's rows can be
    read.

    Raises:
        RuntimeError: a shop's or another network's scope is open, or a transaction that no scope opened.
    """
    outer = _current.get()
    if outer is not None and (outer.shop_id is not None or outer.network_id != network_id):
        raise RuntimeError(f"{_words(outer)} is open; close it before that of network {network_id} is opened")
    with _opened(outer, lambda: _bind_network(network_id, actor)) as scope:
        yield scope


def current_scope() -> Scope | None:
    """The innermost open scope, or None."""
    return _current.get()


def assert_scope(shop_id: int) -> Scope:
    """The open scope of this shop.

    Raises:
        RuntimeError: no scope of this shop is open. Actions call this first, since they never open or commit
            one.
    """
    scope = _current.get()
    if scope is None or scope.shop_id != shop_id:
        raise RuntimeError(f"a scope of shop {shop_id} must be open here, but {_words(scope)} is")
    return scope


def assert_network_scope(network_id: int) -> Scope:
    """The open scope of this network, in which its rows can be written.

    Raises:
        RuntimeError: no scope of this network is open; a shop's scope only reads its network.
    """
    scope = _current.get()
    if scope is None or scope.shop_id is not None or scope.network_id != network_id:
        raise RuntimeError(f"a scope of network {network_id} must be open here, but {_words(scope)} is")
    return scope


@contextmanager
def _opened(outer: Scope | None, bind: Callable[[], Scope]) -> Iterator[Scope]:
    # A durable block refuses to run inside a transaction that somebody else opened and may roll back.
    try:
        with transaction.atomic(durable=outer is None):
            scope = bind()
            token = _current.set(scope)
            try:
                yield scope
            finally:
                _current.reset(token)
    finally:
        # Leaving a savepoint keeps SET LOCAL: the outer scope's settings have to be put back by hand.
        if connection.in_atomic_block and not connection.needs_rollback:
            _bind_again(outer)


def _bind_shop(shop_id: int, actor: Actor) -> Scope:
    network = _execute(_BIND_SHOP, {"shop": str(shop_id), "context": _context(actor)})
    if not network:
        raise LookupError(f"there is no shop {shop_id}")
    return Scope(shop_id=shop_id, network_id=int(network), actor=actor)


def _bind_network(network_id: int, actor: Actor) -> Scope:
    _execute(_BIND_NETWORK, {"network": str(network_id), "context": _context(actor)})
    return Scope(shop_id=None, network_id=network_id, actor=actor)


def _bind_again(outer: Scope | None) -> None:
    if outer is None:
        _execute(_BIND_NOTHING, {})
    elif outer.shop_id is not None:
        _bind_shop(outer.shop_id, outer.actor)
    else:
        _bind_network(outer.network_id, outer.actor)


def _execute(statement: str, values: dict[str, str]) -> str:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        bound: tuple[str, ...] = cursor.fetchone()
    return bound[1]


def _context(actor: Actor) -> str:
    return json.dumps({"person": actor.person_id, "token": actor.token_id, "role": actor.role, "request": actor.request_id})


def _words(scope: Scope | None) -> str:
    if scope is None:
        return "none"
    owner = f"network {scope.network_id}" if scope.shop_id is None else f"shop {scope.shop_id}"
    return f"the scope of {owner}"
