"""A scope binds one shop or one network, for one transaction, with the author of what happens in it."""

from collections.abc import Callable
from datetime import date

import psycopg
import pytest
from django.db import DatabaseError, IntegrityError, ProgrammingError, connection, transaction

from api.accounts.models import Membership
from costbase.models import Network, NetworkEdition, Shop, ShopEdition
from costbase.scope import (
    Actor,
    Scope,
    assert_network_scope,
    assert_scope,
    current_scope,
    network_scope,
    shop_scope,
)
from quotes.models import Coach, Customer
from tests import make

ADA = Actor(person_id=7, token_id=70, role="manager", request_id="request-of-ada")
BEN = Actor(person_id=8, token_id=80, role="estimator", request_id="request-of-ben")

SETTINGS = ("app.shop_id", "app.network_id", "app.network_write", "pghistory.context_metadata")


def bound() -> tuple[str, ...]:
    """The four settings as PostgreSQL has them now; one that was never set reads as the empty text too."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT " + ", ".join(f"coalesce(current_setting('{name}', true), '')" for name in SETTINGS))
        row: tuple[str, ...] = cursor.fetchone()
    return row


def edition(shop: Shop, slug: str = "helper", **changes: object) -> ShopEdition:
    values: dict[str, object] = {"kind": "rate", "valid_from": date(2026, 1, 1), "contents": {"billed": "80.00"}}
    return ShopEdition(shop=shop, slug=slug, **{**values, **changes})


def network_edition(network: Network, slug: str = "helper") -> NetworkEdition:
    return NetworkEdition(network=network, kind="rate", slug=slug, valid_from=date(2026, 1, 1), contents={"billed": "75.00"})


def count(table: str) -> int:
    """Rows of a table that this login sees, with no condition of ours: what the row policy alone lets
    through.
    """
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT count(*) FROM {table}")
        seen: int = cursor.fetchone()[0]
    return seen


@pytest.fixture
def shops(db: None) -> tuple[Shop, Shop]:
    """Two shops of one network, each with an edition of its own; the network has one too."""
    network = make.network()
    pair = make.shop(network=network), make.shop(network=network)
    for shop in pair:
        with shop_scope(shop.pk, make.OPERATOR):
            edition(shop).save()
    with network_scope(network.pk, make.OPERATOR):
        network_edition(network).save()
    return pair


def refusal(action: Callable[[], object]) -> BaseException | None:
    """What PostgreSQL refused the action with; the transaction goes on afterwards."""
    with pytest.raises(DatabaseError) as refused, transaction.atomic():
        action()
    return refused.value.__cause__


class TestReading:
    def test_without_a_scope_no_row_is_seen(self, shops: tuple[Shop, Shop]) -> None:
        assert count("costbase_shopedition") == 0
        assert count("costbase_shopeditionevent") == 0
        assert count("costbase_networkedition") == 0

    def test_a_shop_sees_its_own_rows_and_its_networks(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            assert [seen.shop_id for seen in ShopEdition.objects.for_shop(shops[0])] == [shops[0].pk]
            assert count("costbase_shopedition") == 1
            assert count("costbase_networkedition") == 1

    def test_asking_for_another_shop_by_name_finds_nothing(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            assert not ShopEdition.objects.for_shop(shops[1]).exists()

    def test_another_networks_rows_are_not_seen(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(make.shop().pk, ADA):
            assert count("costbase_networkedition") == 0

    def test_a_network_sees_no_shops_rows(self, shops: tuple[Shop, Shop]) -> None:
        with network_scope(shops[0].network_id, ADA):
            assert count("costbase_networkedition") == 1
            assert count("costbase_shopedition") == 0

    def test_the_settings_are_gone_when_the_scope_is(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            assert bound()[:3] == (str(shops[0].pk), str(shops[0].network_id), "")

        assert bound() == ("", "", "", "")
        assert current_scope() is None

    def test_the_settings_are_gone_when_the_scope_failed(self, shops: tuple[Shop, Shop]) -> None:
        with pytest.raises(ZeroDivisionError), shop_scope(shops[0].pk, ADA):
            raise ZeroDivisionError

        assert bound() == ("", "", "", "")
        assert current_scope() is None

    def test_a_model_of_a_shop_has_no_other_way_in_than_for_shop(self, shops: tuple[Shop, Shop]) -> None:
        for name in ("filter", "get", "exclude", "values", "create", "bulk_create"):
            assert not hasattr(ShopEdition.objects, name)
            assert not hasattr(NetworkEdition.objects, name)


class TestWriting:
    def test_a_row_for_another_shop_is_refused(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            refused = refusal(edition(shops[1], slug="technician").save)

        assert isinstance(refused, psycopg.errors.InsufficientPrivilege)

    def test_a_row_without_a_scope_is_refused(self, shops: tuple[Shop, Shop]) -> None:
        assert isinstance(refusal(edition(shops[0], slug="technician").save), psycopg.errors.InsufficientPrivilege)

    def test_a_row_cannot_be_handed_to_another_shop(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            rows = ShopEdition.objects.for_shop(shops[0])
            refused = refusal(lambda: rows.update(shop_id=shops[1].pk))

        assert isinstance(refused, psycopg.errors.InsufficientPrivilege)

    def test_another_shops_row_is_neither_changed_nor_deleted(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            assert ShopEdition.objects.for_shop(shops[1]).update(used=True) == 0
            assert ShopEdition.objects.for_shop(shops[1]).delete()[0] == 0

        with shop_scope(shops[1].pk, BEN):
            assert [row.used for row in ShopEdition.objects.for_shop(shops[1])] == [False]

    def test_a_row_cannot_point_into_another_shop(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[1].pk, BEN):
            theirs = Customer.objects.for_shop(shops[1]).create(shop=shops[1], kind="person", name="Invented Owner")

        with shop_scope(shops[0].pk, ADA):
            coach = Coach(shop=shops[0], customer=theirs, label="Invented coach", roof={})
            refused = refusal(coach.save)

        assert isinstance(refused, psycopg.errors.ForeignKeyViolation)

    def test_a_shop_cannot_write_its_networks_rows(self, shops: tuple[Shop, Shop]) -> None:
        network = shops[0].network
        with shop_scope(shops[0].pk, ADA):
            refused = refusal(network_edition(network, slug="technician").save)
            assert NetworkEdition.objects.for_network(network).update(used=True) == 0
            assert NetworkEdition.objects.for_network(network).delete()[0] == 0

        assert isinstance(refused, psycopg.errors.InsufficientPrivilege)

    def test_a_network_cannot_write_another_networks_rows(self, shops: tuple[Shop, Shop]) -> None:
        with network_scope(shops[0].network_id, ADA):
            refused = refusal(network_edition(make.network()).save)

        assert isinstance(refused, psycopg.errors.InsufficientPrivilege)

    def test_a_slug_never_changes(self, shops: tuple[Shop, Shop]) -> None:
        refused = refusal(lambda: Shop.objects.filter(pk=shops[0].pk).update(slug="renamed"))

        assert "Cannot update" in str(refused)


class TestNesting:
    def test_the_same_shop_again_restores_the_outer_author(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            outer = bound()
            with shop_scope(shops[0].pk, BEN) as inner:
                assert inner.actor == BEN
                assert "request-of-ben" in bound()[3]
            assert bound() == outer
            assert current_scope() == Scope(shops[0].pk, shops[0].network_id, ADA)

    def test_a_failed_inner_scope_takes_only_its_own_rows_back(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            edition(shops[0], slug="kept").save()
            with pytest.raises(IntegrityError), shop_scope(shops[0].pk, BEN):
                ShopEdition.objects.for_shop(shops[0]).bulk_create(
                    [edition(shops[0], slug="lost"), edition(shops[0], slug="Not Plain")]
                )
            assert "request-of-ada" in bound()[3]
            slugs = set(ShopEdition.objects.for_shop(shops[0]).values_list("slug", flat=True))

        assert slugs == {"helper", "kept"}

    def test_another_shop_inside_is_refused(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            with pytest.raises(RuntimeError, match="is open"), shop_scope(shops[1].pk, ADA):
                pass
            assert bound()[0] == str(shops[0].pk)

    def test_a_shop_and_its_network_do_not_nest(self, shops: tuple[Shop, Shop]) -> None:
        network_id = shops[0].network_id
        with (
            shop_scope(shops[0].pk, ADA),
            pytest.raises(RuntimeError, match="is open"),
            network_scope(network_id, ADA),
        ):
            pass
        with (
            network_scope(network_id, ADA),
            pytest.raises(RuntimeError, match="is open"),
            shop_scope(shops[0].pk, ADA),
        ):
            pass

    def test_the_same_network_nests(self, shops: tuple[Shop, Shop]) -> None:
        with network_scope(shops[0].network_id, ADA):
            outer = bound()
            with network_scope(shops[0].network_id, BEN):
                assert bound()[2] == "on"
            assert bound() == outer

    def test_there_is_no_scope_of_a_shop_that_is_not_there(self, db: None) -> None:
        with pytest.raises(LookupError, match="no shop 999999"), shop_scope(999999, ADA):
            pass
        assert current_scope() is None

    @pytest.mark.django_db(transaction=True)
    def test_a_scope_inside_somebody_elses_transaction_is_refused(self) -> None:
        shop = make.shop()

        with pytest.raises(RuntimeError, match="durable"), transaction.atomic(), shop_scope(shop.pk, ADA):
            pass

    @pytest.mark.django_db(transaction=True)
    def test_a_real_transaction_leaves_nothing_bound(self) -> None:
        shop = make.shop()
        with shop_scope(shop.pk, ADA):
            edition(shop).save()

        assert bound() == ("", "", "", "")
        assert count("costbase_shopedition") == 0
        with shop_scope(shop.pk, ADA):
            assert count("costbase_shopedition") == 1


class TestAsserting:
    def test_an_action_finds_the_open_scope(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            assert assert_scope(shops[0].pk).actor == ADA
        with network_scope(shops[0].network_id, BEN):
            assert assert_network_scope(shops[0].network_id).actor == BEN

    def test_an_action_outside_of_its_scope_is_a_fault(self, shops: tuple[Shop, Shop]) -> None:
        with pytest.raises(RuntimeError, match="must be open here, but none is"):
            assert_scope(shops[0].pk)
        with shop_scope(shops[0].pk, ADA):
            with pytest.raises(RuntimeError, match=f"but the scope of shop {shops[0].pk} is"):
                assert_scope(shops[1].pk)
            with pytest.raises(RuntimeError, match="must be open here"):
                assert_network_scope(shops[0].network_id)


class TestHistory:
    def events(self) -> list[tuple[str, int, str]]:
        """Label, author and request of the open shop's edition events."""
        rows = ShopEdition.pgh_event_model.objects  # type: ignore[attr-defined]  # Made by the history library.
        shop = current_scope()
        assert shop is not None
        events = rows.for_shop(shop.shop_id).order_by("pgh_id")
        return [(event.pgh_label, event.pgh_context["person"], event.pgh_context["request"]) for event in events]

    def test_every_change_is_kept_with_its_author(self, db: None) -> None:
        shop = make.shop()
        with shop_scope(shop.pk, ADA):
            edition(shop).save()
        with shop_scope(shop.pk, BEN):
            ShopEdition.objects.for_shop(shop).update(contents={"billed": "90.00"})
            ShopEdition.objects.for_shop(shop).delete()

            assert self.events() == [
                ("insert", 7, "request-of-ada"),
                ("update", 8, "request-of-ben"),
                ("delete", 8, "request-of-ben"),
            ]

    def test_a_change_without_an_author_is_refused(self, db: None) -> None:
        member = Membership(person=make.person(), shop=make.shop(), role="manager")

        refused = refusal(member.save)

        assert isinstance(refused, psycopg.errors.NotNullViolation)
        assert "pgh_context" in str(refused)

    @pytest.mark.parametrize(
        "statement",
        [
            "UPDATE costbase_shopeditionevent SET pgh_context = '{}'",
            "DELETE FROM costbase_shopeditionevent",
            "TRUNCATE costbase_shopeditionevent",
            "ALTER TABLE costbase_shopeditionevent DISABLE ROW LEVEL SECURITY",
        ],
    )
    def test_history_cannot_be_rewritten(self, shops: tuple[Shop, Shop], statement: str) -> None:
        def attempt() -> None:
            with connection.cursor() as cursor:
                cursor.execute(statement)

        with shop_scope(shops[0].pk, ADA):
            refused = refusal(attempt)

        assert isinstance(refused, psycopg.errors.InsufficientPrivilege)

    def test_an_event_cannot_be_put_into_another_shops_history(self, shops: tuple[Shop, Shop]) -> None:
        def attempt() -> None:
            with connection.cursor() as cursor:
                cursor.execute(
                    "INSERT INTO costbase_shopeditionevent (pgh_created_at, pgh_label, pgh_context, pgh_obj_id, id,"
                    " kind, slug, valid_from, contents, used, created, shop_id)"
                    " VALUES (now(), 'update', '{}', 1, 1, 'rate', 'x', '2026-01-01', '{}', false, now(), %s)",
                    [shops[1].pk],
                )

        with shop_scope(shops[0].pk, ADA):
            refused = refusal(attempt)

        assert isinstance(refused, psycopg.errors.InsufficientPrivilege)

    def test_a_shop_does_not_see_anothers_history(self, shops: tuple[Shop, Shop]) -> None:
        with shop_scope(shops[0].pk, ADA):
            assert count("costbase_shopeditionevent") == 1


def test_the_login_cannot_become_the_owner(db: None) -> None:
    def attempt() -> None:
        with connection.cursor() as cursor:
            cursor.execute("SET ROLE roof_owner")

    with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
        attempt()
