"""A token opens one shop or network, for one person, within that person's role, until it ends."""

from datetime import timedelta

import pytest

from api.accounts.models import Membership, Token
from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER, ROLES, is_within
from api.accounts.tokens import Identity, TokenNotIssued, TokenRefused, bearer, identify, issue, revoke
from costbase.models import Network, Shop
from costbase.scope import shop_scope
from tests import make

NOW = make.NOW
MONTH = timedelta(days=30)


@pytest.fixture
def shop(db: None) -> Shop:
    return make.shop("bay")


def code_of(raw: str | None, *, after: timedelta = timedelta(0)) -> str:
    with pytest.raises(TokenRefused) as refused:
        identify(raw, now=NOW + after)
    return refused.value.code


class TestIdentify:
    def test_a_token_says_whose_it_is_and_where_it_goes(self, shop: Shop) -> None:
        ada = make.person("Ada Invented")
        make.membership(ada, shop, MANAGER)
        raw = make.token(shop, ESTIMATOR, who=ada, now=NOW)

        identity = identify(raw, now=NOW)

        token = Token.objects.get()
        assert raw.startswith(f"rq_{token.prefix}_")
        assert identity == Identity(
            person_id=ada.pk,
            person_name="Ada Invented",
            token_id=token.pk,
            token_prefix=token.prefix,
            role="estimator",
            shop_id=shop.pk,
            network_id=None,
        )

    def test_a_networks_token_goes_to_the_network(self, shop: Shop) -> None:
        identity = identify(make.token(shop.network, NETWORK_MANAGER, now=NOW), now=NOW)

        assert (identity.shop_id, identity.network_id) == (None, shop.network_id)

    def test_it_costs_one_read(self, shop: Shop, django_assert_num_queries: pytest.FixtureRequest) -> None:
        raw = make.token(shop, now=NOW)
        identify(raw, now=NOW)

        with django_assert_num_queries(1):  # type: ignore[operator]  # pytest-django's fixture is a function.
            identify(raw, now=NOW)

    @pytest.mark.parametrize("raw", [None, ""])
    def test_a_missing_token_is_refused(self, db: None, raw: str | None) -> None:
        assert code_of(raw) == "missing"

    @pytest.mark.parametrize(
        "raw",
        [
            "secret",
            "rq_",
            "rq_abcdefgh_short",
            "rq_ABCDEFGH_" + "a" * 43,
            "rq_abcdefgh_" + "a" * 44,
            "rq_abcdefgh_" + "a" * 42 + "\n",
            "rq_abcdefgh_" + "é" * 43,
            "xx_abcdefgh_" + "a" * 43,
            "rq_abcdefgh_" + "a" * 100_000,
        ],
    )
    def test_a_malformed_token_is_refused(self, db: None, raw: str) -> None:
        assert code_of(raw) == "malformed"

    def test_an_unknown_token_is_refused(self, shop: Shop) -> None:
        raw = make.token(shop, now=NOW)
        other_secret = raw[:-1] + ("A" if raw[-1] != "A" else "B")

        assert code_of(other_secret) == "unknown"

    def test_a_token_ends_at_its_hour(self, shop: Shop) -> None:
        raw = make.token(shop, now=NOW, life=timedelta(hours=1))

        identify(raw, now=NOW + timedelta(minutes=59, seconds=59))
        assert code_of(raw, after=timedelta(hours=1)) == "expired"

    def test_a_revoked_token_is_refused(self, shop: Shop) -> None:
        raw = make.token(shop, now=NOW)
        revoke(Token.objects.get(), now=NOW)
        revoke(Token.objects.get(), now=NOW + MONTH)

        assert code_of(raw) == "revoked"
        assert Token.objects.get().revoked == NOW

    def test_a_token_falls_with_its_persons_membership(self, shop: Shop) -> None:
        raw = make.token(shop, now=NOW)
        with shop_scope(shop.pk, make.OPERATOR):
            Membership.objects.all().delete()

        assert code_of(raw) == "revoked"

    def test_a_token_falls_when_its_person_gets_a_lesser_role(self, shop: Shop) -> None:
        raw = make.token(shop, MANAGER, now=NOW)
        with shop_scope(shop.pk, make.OPERATOR):
            Membership.objects.update(role=ESTIMATOR)

        assert code_of(raw) == "revoked"

    def test_a_role_in_another_shop_holds_nothing_up(self, shop: Shop) -> None:
        ada = make.person()
        make.membership(ada, shop, MANAGER)
        raw = make.token(shop, MANAGER, who=ada, now=NOW)
        make.membership(ada, make.shop(), MANAGER)
        with shop_scope(shop.pk, make.OPERATOR):
            Membership.objects.filter(shop=shop).delete()

        assert code_of(raw) == "revoked"

    def test_the_last_use_is_noted_once_a_minute(self, shop: Shop) -> None:
        raw = make.token(shop, now=NOW)
        seen = []
        for seconds in (0, 59, 60, 119):
            identify(raw, now=NOW + timedelta(seconds=seconds))
            seen.append((Token.objects.get().last_used or NOW) - NOW)

        assert [gap.total_seconds() for gap in seen] == [0, 0, 60, 60]

    def test_the_secret_is_kept_nowhere(self, shop: Shop) -> None:
        raw = make.token(shop, now=NOW)

        row = repr(list(Token.objects.values_list())).encode()
        assert raw.split("_", 2)[2].encode() not in row


class TestBearer:
    @pytest.mark.parametrize("header", ["Bearer abc", "bearer abc", "BEARER   abc "])
    def test_the_scheme_is_read_in_any_case(self, header: str) -> None:
        assert bearer(header) == "abc"

    @pytest.mark.parametrize(
        ("header", "code"),
        [(None, "missing"), ("", "missing"), ("Basic abc", "malformed"), ("Bearer", "malformed"), ("Bearer ", "malformed")],
    )
    def test_another_header_is_refused(self, header: str | None, code: str) -> None:
        with pytest.raises(TokenRefused) as refused:
            bearer(header)
        assert refused.value.code == code


class TestIssue:
    def maker(self, place: Shop | Network, role: str) -> Identity:
        return identify(make.token(place, role, now=NOW), now=NOW)

    def refusal(self, place: Shop | Network, role: str, member_role: str | None, made_by: Identity | None) -> str:
        who = make.person()
        if member_role:
            make.membership(who, place, member_role)
        with pytest.raises(TokenNotIssued) as refused:
            issue(person=who, role=role, place=place, made_by=made_by, now=NOW, life=MONTH)
        return refused.value.code

    @pytest.mark.parametrize("role", [MANAGER, ESTIMATOR, ANALYST])
    def test_a_manager_makes_tokens_of_every_role_of_the_shop(self, shop: Shop, role: str) -> None:
        manager, who = self.maker(shop, MANAGER), make.person()
        make.membership(who, shop, role)

        raw = issue(person=who, role=role, place=shop, made_by=manager, now=NOW, life=MONTH)

        assert identify(raw, now=NOW).role == role
        assert Token.objects.get(person=who).made_by_id == manager.person_id

    @pytest.mark.parametrize(("maker", "role"), [(ESTIMATOR, MANAGER), (ANALYST, ESTIMATOR), (ESTIMATOR, ANALYST)])
    def test_a_token_never_exceeds_its_makers_role(self, shop: Shop, maker: str, role: str) -> None:
        assert self.refusal(shop, role, role, self.maker(shop, maker)) == "role_above_maker"

    def test_the_ceiling_is_the_makers_token_not_the_makers_membership(self, shop: Shop) -> None:
        ada = make.person()
        make.membership(ada, shop, MANAGER)
        narrow = identify(make.token(shop, ESTIMATOR, who=ada, now=NOW), now=NOW)

        assert self.refusal(shop, MANAGER, MANAGER, narrow) == "role_above_maker"

    def test_a_token_never_exceeds_its_persons_role(self, shop: Shop) -> None:
        assert self.refusal(shop, MANAGER, ESTIMATOR, self.maker(shop, MANAGER)) == "role_above_person"
        assert self.refusal(shop, "owner of everything", MANAGER, None) == "role_above_person"

    def test_a_token_is_for_a_member(self, shop: Shop) -> None:
        assert self.refusal(shop, ESTIMATOR, None, None) == "not_a_member"

    def test_a_manager_makes_none_for_another_place(self, shop: Shop) -> None:
        manager = self.maker(shop, MANAGER)

        assert self.refusal(make.shop(), MANAGER, MANAGER, manager) == "other_place"
        assert self.refusal(shop.network, NETWORK_MANAGER, NETWORK_MANAGER, manager) == "other_place"

    @pytest.mark.parametrize("life", [timedelta(0), timedelta(days=-1), timedelta(days=367)])
    def test_a_token_lives_at_most_a_year(self, shop: Shop, life: timedelta) -> None:
        who = make.person()
        make.membership(who, shop, MANAGER)
        with pytest.raises(TokenNotIssued, match="at most 366 days"):
            issue(person=who, role=MANAGER, place=shop, made_by=None, now=NOW, life=life)

    def test_no_two_tokens_are_alike(self, shop: Shop) -> None:
        assert make.token(shop, now=NOW) != make.token(shop, now=NOW)


def test_every_role_is_within_itself_and_none_within_a_lesser_one() -> None:
    assert {(role, ceiling) for role in ROLES for ceiling in ROLES if is_within(role, ceiling)} == {
        ("manager", "manager"),
        ("estimator", "manager"),
        ("analyst", "manager"),
        ("estimator", "estimator"),
        ("analyst", "analyst"),
        ("network_manager", "network_manager"),
    }
