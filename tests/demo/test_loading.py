"""Loading the invented shop: the same editions however often, and faults that name their file."""

import shutil
from pathlib import Path

import pytest
from django.core.management.base import CommandError

from api.management import demo_shop
from costbase.models import Network, NetworkEdition, Shop, ShopEdition
from costbase.scope import network_scope, shop_scope
from tests import make
from tests.rest.office import FIXTURES


def editions(loaded: demo_shop.Loaded) -> tuple[int, int]:
    with network_scope(loaded.network.pk, make.OPERATOR):
        shared = NetworkEdition.objects.for_network(loaded.network).count()
    with shop_scope(loaded.shop.pk, make.OPERATOR):
        return shared, ShopEdition.objects.for_shop(loaded.shop).count()


@pytest.mark.django_db
def test_loading_twice_makes_no_second_edition() -> None:
    first = demo_shop.load(FIXTURES)
    before = editions(first)

    second = demo_shop.load(FIXTURES)

    assert min(before) > 0
    assert (first.changed_editions, second.changed_editions) == (sum(before), 0)
    assert editions(second) == before
    assert (Network.objects.count(), Shop.objects.count()) == (1, 1)


@pytest.mark.django_db
def test_tokens_of_an_earlier_run_are_kept(tmp_path: Path) -> None:
    loaded, kept = demo_shop.load(FIXTURES), tmp_path / "tokens.json"

    first = demo_shop.tokens_for(loaded, FIXTURES / "demo", kept)

    assert demo_shop.tokens_for(loaded, FIXTURES / "demo", kept) == first
    assert set(first) == {"estimator", "manager", "analyst", "network_manager"}
    assert kept.stat().st_mode & 0o077 == 0


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    shutil.copytree(FIXTURES / "demo", tmp_path / "demo")
    (tmp_path / "demo" / "rates.csv").write_text("nonsense\n1\n")

    with pytest.raises(CommandError, match=r"rates\.csv"):
        demo_shop.stage_folder(tmp_path / "demo")
