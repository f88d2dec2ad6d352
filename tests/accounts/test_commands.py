"""The console: how the first network, shop and token come into being, and the roles of the database."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from api.accounts.models import Membership, Person, Token
from api.accounts.tokens import identify
from costbase.models import Network, Shop
from tests import make


def run(*words: str) -> str:
    said = StringIO()
    call_command(*words, stdout=said, stderr=StringIO())
    return said.getvalue().strip()


def shop_words(**changes: str) -> list[str]:
    options = {"network": "north", "currency": "USD", "time-zone": "America/Chicago", "units": "us", **changes}
    return ["create_shop", "bay", "Bay Shop", *(f"--{name}={value}" for name, value in options.items())]


@pytest.mark.django_db
class TestPlaces:
    def test_a_network_and_a_shop_are_made(self) -> None:
        assert run("create_network", "north", "Northern shops") == "network north made"
        assert run(*shop_words(), "--shares-learning") == "shop bay made in network north"

        shop = Shop.objects.get()
        assert (shop.network.slug, shop.name, shop.currency) == ("north", "Bay Shop", "USD")
        assert (shop.time_zone, shop.unit_system, shop.shares_learning) == ("America/Chicago", "us", True)

    def test_learning_is_not_shared_unless_asked(self) -> None:
        make.network("north")
        run(*shop_words())

        assert Shop.objects.get().shares_learning is False

    def test_every_fault_is_told_at_once(self) -> None:
        make.network("north")
        with pytest.raises(CommandError) as refused:
            run(*shop_words(currency="XXX", **{"time-zone": "Mars/Olympus"}))

        assert "expected the ISO 4217 code" in str(refused.value)
        assert "expected an IANA time zone" in str(refused.value)
        assert not Shop.objects.exists()

    @pytest.mark.parametrize("slug", ["North", "north bay", "north_", "-north", "é", "x" * 64])
    def test_a_slug_is_plain(self, slug: str) -> None:
        with pytest.raises(CommandError, match="expected 1 to 63 small letters, digits and inner hyphens"):
            run("create_network", "--", slug, "Northern shops")

    def test_a_taken_slug_is_told(self) -> None:
        make.network("north")
        make.shop("bay")
        with pytest.raises(CommandError, match="the slug north is taken"):
            run("create_network", "north", "Again")
        with pytest.raises(CommandError, match="the slug bay is taken"):
            run(*shop_words())

    @pytest.mark.parametrize("name", ["", "   ", "x" * 201])
    def test_a_name_is_needed(self, name: str) -> None:
        with pytest.raises(CommandError, match="expected a name of 1 to 200 characters"):
            run("create_network", "north", name)

    def test_a_shop_needs_a_network_that_is_there(self) -> None:
        with pytest.raises(CommandError, match="expected the slug of a network, got 'north'"):
            run(*shop_words())
        assert not Network.objects.exists()


@pytest.mark.django_db
class TestToken:
    def test_a_first_token_makes_its_person_and_membership(self) -> None:
        shop = make.shop("bay")

        raw = run("create_token", "ada@example.org", "--name=Ada Invented", "--shop=bay", "--role=manager")

        identity = identify(raw, now=timezone.now())
        assert (identity.person_name, identity.role, identity.shop_id) == ("Ada Invented", "manager", shop.pk)
        event = Membership.pgh_event_model.objects.get()  # type: ignore[attr-defined]
        assert event.pgh_context["role"] == "operator"
        assert event.pgh_context["request"].startswith("console-")

    def test_a_second_token_is_for_the_same_person(self) -> None:
        make.shop("bay")
        run("create_token", "ada@example.org", "--name=Ada Invented", "--shop=bay", "--role=manager")

        run("create_token", "Ada@Example.org", "--shop=bay", "--role=estimator", "--days=7")

        assert Person.objects.count() == 1
        assert Membership.objects.get().role == "manager"
        assert sorted(Token.objects.values_list("role", flat=True)) == ["estimator", "manager"]

    def test_a_known_persons_role_is_not_raised_by_a_token(self) -> None:
        make.shop("bay")
        run("create_token", "ada@example.org", "--name=Ada Invented", "--shop=bay", "--role=estimator")

        with pytest.raises(CommandError, match="Ada Invented is estimator in bay and cannot have"):
            run("create_token", "ada@example.org", "--shop=bay", "--role=manager")

    def test_a_networks_token_is_made_likewise(self) -> None:
        network = make.network("north")

        raw = run("create_token", "ben@example.org", "--name=Ben", "--network=north", "--role=network_manager")

        assert identify(raw, now=timezone.now()).network_id == network.pk

    @pytest.mark.parametrize(
        ("words", "told"),
        [
            (["ada@example.org", "--shop=bay", "--role=manager"], "expected a name"),
            (["ada", "--name=Ada", "--shop=bay", "--role=manager"], "expected an e-mail address, got 'ada'"),
            (
                ["ada@example.org", "--name=Ada", "--shop=bay", "--role=network_manager"],
                "expected analyst or estimator or manager in bay",
            ),
            (["ada@example.org", "--name=Ada", "--shop=cove", "--role=manager"], "expected the slug of a shop"),
            (["ada@example.org", "--name=Ada", "--shop=bay", "--role=manager", "--days=0"], "at most 366 days"),
        ],
    )
    def test_a_refused_token_leaves_nobody_behind(self, words: list[str], told: str) -> None:
        make.shop("bay")

        with pytest.raises(CommandError, match=told):
            run("create_token", *words)

        assert not Person.objects.exists()
        assert not Membership.objects.exists()


def test_the_roles_of_the_database_are_printed_without_passwords() -> None:
    script = run("database_roles")

    assert "ALTER ROLE roof_owner LOGIN NOSUPERUSER" in script
    assert "ALTER ROLE roof_app LOGIN NOSUPERUSER" in script
    assert "NOBYPASSRLS" in script
    assert "PASSWORD '" not in script
