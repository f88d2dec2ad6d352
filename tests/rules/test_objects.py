"""A shop's rows are read by saying which shop; a network's by saying which network."""

import ast
from collections.abc import Iterator

from django.apps import apps

from tests.rules.sources import Found, faults, found, modules, placed
from tests.rules.test_tables import IDENTITY

WAYS_IN = {"for_shop", "for_network"}
# Managers that see every row: Django's own machinery needs one, and nobody else does.
PLAIN_MANAGERS = {"_rows", "_default_manager", "_base_manager"}


def whole_tables() -> dict[str, str]:
    """Models without a row policy, which are read before anybody knows for whom; why each has none stands in test_tables."""
    return {model.__name__: IDENTITY[model._meta.db_table] for model in apps.get_models() if model._meta.db_table in IDENTITY}


def queries() -> Iterator[Found]:
    """Every `X.objects` that is not followed by a way in; `words` is X."""
    for module in modules():
        safe = {
            id(node.value)
            for node, _ in placed(module)
            if isinstance(node, ast.Attribute) and node.attr in WAYS_IN and isinstance(node.value, ast.Attribute)
        }
        for node, name in placed(module):
            if isinstance(node, ast.Attribute) and node.attr == "objects" and id(node) not in safe:
                yield found(module, node, name, ast.unparse(node.value))


def test_rows_of_a_shop_or_network_are_read_for_it() -> None:
    known = whole_tables()
    strays = [place for place in queries() if place.words not in known]
    fix = "say whose rows: <Model>.objects.for_shop(shop) or .for_network(network):"
    assert not (told := faults(strays, {}, fix)), told


def test_the_models_that_may_be_read_whole_are_those_of_people_places_and_runs() -> None:
    assert set(whole_tables()) == {
        "Network", "Shop", "Run", "RunChunk", "Person", "Membership", "MembershipEvent", "Token", "OwnerLink",
    }  # fmt: skip


def test_nobody_goes_round_the_way_in() -> None:
    round_it = [
        found(module, node, name)
        for module in modules()
        for node, name in placed(module)
        if isinstance(node, ast.Attribute) and node.attr in PLAIN_MANAGERS
    ]
    fix = "go through .objects.for_shop(shop); the plain manager sees what the row policy lets through, and says for nobody:"
    assert not (told := faults(round_it, {}, fix)), told
