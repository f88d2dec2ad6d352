"""From the token to the handler: who gets in, what is kept, what is told."""

import json
import logging
from typing import TYPE_CHECKING

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.test import Client
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.models import Membership, Token
from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from api.rest.base import ShopView
from costbase.models import Shop, ShopEdition
from costbase.scope import current_scope, shop_scope
from tests import make

if TYPE_CHECKING:
    from django.test.client import _MonkeyPatchedWSGIResponse as Answer

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.accounts.probe")]


class Caller:
    """A client with a token, or without one."""

    def __init__(self, raw: str | None = None) -> None:
        self.client = Client(raise_request_exception=False)
        self.headers = {"Authorization": f"Bearer {raw}"} if raw else {}

    def get(self, path: str, **headers: str) -> "Answer":
        return self.client.get(path, headers={**self.headers, **headers})

    def post(self, path: str, body: object) -> "Answer":
        return self.client.post(path, json.dumps(body), content_type="application/json", headers=self.headers)


def code(answer: "Answer") -> tuple[int, str]:
    assert answer["Content-Type"] == "application/problem+json"
    return answer.status_code, json.loads(answer.content)["code"]


@pytest.fixture
def shop() -> Shop:
    return make.shop("bay")


@pytest.fixture
def slugs(shop: Shop) -> list[str]:
    with shop_scope(shop.pk, make.OPERATOR):
        ShopEdition(shop=shop, kind="rate", slug="helper", valid_from=make.NOW.date(), contents={}).save()
    return ["helper"]


def kept(shop: Shop) -> list[str]:
    with shop_scope(shop.pk, make.OPERATOR):
        return sorted(ShopEdition.objects.for_shop(shop).values_list("slug", flat=True))


class TestWhoGetsIn:
    def test_a_member_reads_the_shop(self, shop: Shop, slugs: list[str]) -> None:
        answer = Caller(make.token(shop, MANAGER)).get("/shops/bay/probe/rate")

        assert (answer.status_code, json.loads(answer.content)["slugs"]) == (200, ["helper"])

    def test_no_token_is_401_and_names_the_scheme(self, shop: Shop) -> None:
        answer = Caller().get("/shops/bay/probe/rate")

        assert code(answer) == (401, "token_missing")
        assert answer["WWW-Authenticate"] == "Bearer"

    def test_a_bad_token_is_401_and_says_why(self, shop: Shop) -> None:
        expired, revoked = make.token(shop, now=make.NOW), make.token(shop)
        Token.objects.filter(prefix=expired[3:11]).update(expires=make.NOW + make.NOW.resolution)
        Token.objects.filter(prefix=revoked[3:11]).update(revoked=make.NOW)

        assert code(Caller("nonsense").get("/shops/bay/probe/rate")) == (401, "token_malformed")
        assert code(Caller(expired[:-4] + "AAAA").get("/shops/bay/probe/rate")) == (401, "token_unknown")
        assert code(Caller(expired).get("/shops/bay/probe/rate")) == (401, "token_expired")
        assert code(Caller(revoked).get("/shops/bay/probe/rate")) == (401, "token_revoked")

    def test_another_shop_and_one_that_is_not_there_look_alike(self, shop: Shop) -> None:
        make.shop("cove")
        caller = Caller(make.token(shop, MANAGER))

        other, absent = caller.get("/shops/cove/probe/rate"), caller.get("/shops/nowhere/probe/rate")

        assert code(other) == code(absent) == (404, "not_found")
        assert other.content == absent.content

    def test_a_member_of_two_shops_needs_a_token_for_each(self, shop: Shop) -> None:
        cove, ada = make.shop("cove"), make.person()
        for place in (shop, cove):
            make.membership(ada, place, MANAGER)
        caller = Caller(make.token(shop, MANAGER, who=ada))

        assert caller.get("/shops/bay/probe/rate").status_code == 200
        assert caller.get("/shops/cove/probe/rate").status_code == 404

    def test_a_role_that_is_not_in_the_table_is_403(self, shop: Shop) -> None:
        answer = Caller(make.token(shop, ESTIMATOR)).get("/shops/bay/probe/rate")

        assert code(answer) == (403, "role_not_allowed")
        assert "expected analyst or manager or network_manager" in json.loads(answer.content)["detail"]

    def test_the_table_is_read_method_by_method(self, shop: Shop) -> None:
        caller = Caller(make.token(shop, ANALYST))

        assert caller.get("/shops/bay/probe/rate").status_code == 200
        assert code(caller.post("/shops/bay/probe/rate", {"ending": "made"})) == (403, "role_not_allowed")

    def test_head_is_as_get(self, shop: Shop) -> None:
        allowed, refused = make.token(shop, ANALYST), make.token(shop, ESTIMATOR)
        client = Client()

        assert client.head("/shops/bay/probe/rate", headers={"Authorization": f"Bearer {allowed}"}).status_code == 200
        assert client.head("/shops/bay/probe/rate", headers={"Authorization": f"Bearer {refused}"}).status_code == 403

    @pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE"])
    def test_a_method_without_a_handler_is_405(self, shop: Shop, method: str) -> None:
        headers = {"Authorization": f"Bearer {make.token(shop, MANAGER)}"}

        answer = Client().generic(method, "/shops/bay/probe/rate", headers=headers)

        assert code(answer) == (405, "method_not_allowed")

    def test_a_network_manager_enters_only_a_shop_that_opted_in(self, shop: Shop, slugs: list[str]) -> None:
        caller = Caller(make.token(shop.network, NETWORK_MANAGER))

        assert code(caller.get("/shops/bay/probe/rate")) == (404, "not_found")
        Shop.objects.filter(pk=shop.pk).update(shares_learning=True)
        assert json.loads(caller.get("/shops/bay/probe/rate").content)["slugs"] == ["helper"]
        assert code(caller.post("/shops/bay/probe/rate", {"ending": "made"})) == (403, "role_not_allowed")

    def test_a_network_manager_enters_no_shop_of_another_network(self) -> None:
        make.shop("cove", shares_learning=True)

        assert code(Caller(make.token(make.network(), NETWORK_MANAGER)).get("/shops/cove/probe/rate"))[0] == 404

    def test_a_network_is_entered_with_its_own_token_only(self, shop: Shop) -> None:
        path = f"/networks/{shop.network.slug}/probe"

        assert Caller(make.token(shop.network, NETWORK_MANAGER)).get(path).status_code == 200
        assert code(Caller(make.token(shop, MANAGER)).get(path)) == (404, "not_found")
        assert code(Caller(make.token(make.network(), NETWORK_MANAGER)).get(path)) == (404, "not_found")


class TestWhatIsKept:
    def test_an_answer_below_400_is_kept_with_its_author(self, shop: Shop) -> None:
        raw = make.token(shop, MANAGER)

        answer = Caller(raw).post("/shops/bay/probe/rate", {"ending": "made"})

        assert (answer.status_code, kept(shop)) == (201, ["added"])
        with shop_scope(shop.pk, make.OPERATOR):
            event = ShopEdition.pgh_event_model.objects.for_shop(shop).get()  # type: ignore[attr-defined]
        token = Token.objects.get()
        assert event.pgh_context == {
            "person": token.person_id,
            "token": token.pk,
            "role": "manager",
            "request": answer["X-Request-Id"],
        }

    @pytest.mark.parametrize(("ending", "status"), [("refused", 422), ("conflict", 409), ("broken", 500)])
    def test_nothing_of_a_refused_request_is_kept(self, shop: Shop, ending: str, status: int) -> None:
        answer = Caller(make.token(shop, MANAGER)).post("/shops/bay/probe/rate", {"ending": ending})

        assert (answer.status_code, kept(shop)) == (status, [])
        assert current_scope() is None

    @pytest.mark.django_db(transaction=True)
    def test_nothing_is_kept_in_a_transaction_of_its_own_either(self, shop: Shop) -> None:
        caller = Caller(make.token(shop, MANAGER))

        caller.post("/shops/bay/probe/rate", {"ending": "conflict"})
        assert kept(shop) == []
        caller.post("/shops/bay/probe/rate", {"ending": "made"})
        assert kept(shop) == ["added"]

    def test_a_change_of_a_role_is_kept_with_its_author(self, shop: Shop) -> None:
        make.token(shop, MANAGER)
        with shop_scope(shop.pk, make.OPERATOR):
            Membership.objects.update(role=ANALYST)

        events = Membership.pgh_event_model.objects.order_by("pgh_id")  # type: ignore[attr-defined]
        assert [(event.pgh_label, event.role, event.pgh_context["role"]) for event in events] == [
            ("insert", "manager", "operator"),
            ("update", "analyst", "operator"),
        ]


class TestWhatIsTold:
    def test_a_plain_request_id_is_taken_over(self, shop: Shop) -> None:
        answer = Caller(make.token(shop, MANAGER)).get("/shops/bay/probe/rate", **{"X-Request-Id": "tablet-7.2026"})

        assert answer["X-Request-Id"] == "tablet-7.2026"
        assert json.loads(answer.content)["request"] == "tablet-7.2026"

    @pytest.mark.parametrize("asked", ["", "a b", "x" * 65, "<b>", "a\tb"])
    def test_another_request_id_is_replaced(self, shop: Shop, asked: str) -> None:
        given = Caller().get("/shops/bay/probe/rate", **{"X-Request-Id": asked})["X-Request-Id"]

        assert given != asked
        assert len(given) == 32

    def test_the_log_names_the_token_by_its_prefix_and_holds_no_secret(
        self, shop: Shop, caplog: pytest.LogCaptureFixture
    ) -> None:
        raw = make.token(shop, MANAGER)
        with caplog.at_level(logging.INFO, logger="api.request"):
            Caller(raw).get("/shops/bay/probe/rate?owner=somebody")

        (line,) = [record.msg for record in caplog.records if record.name == "api.request"]
        assert isinstance(line, dict)
        told = {key: line[key] for key in ("event", "method", "route", "status", "token", "role", "place")}
        assert told == {
            "event": "request",
            "method": "GET",
            "route": "shops/<slug:shop>/probe/<str:kind>",
            "status": 200,
            "token": raw[3:11],
            "role": "manager",
            "place": "shop bay",
        }
        assert raw[12:] not in str(line)
        assert "somebody" not in str(line)

    def test_the_next_request_does_not_inherit_the_log_of_the_former(
        self, shop: Shop, caplog: pytest.LogCaptureFixture
    ) -> None:
        Caller(make.token(shop, MANAGER)).get("/shops/bay/probe/rate")
        with caplog.at_level(logging.INFO, logger="api.request"):
            Caller().get("/healthz")

        line = caplog.records[-1].msg
        assert isinstance(line, dict)
        assert not {"token", "role", "place"} & line.keys()


class TestDeclaring:
    def test_a_handler_without_a_rule_is_refused(self) -> None:
        with pytest.raises(ImproperlyConfigured, match=r"Careless\.roles must name GET, POST and nothing else"):

            class Careless(ShopView):
                roles = {"GET": frozenset({MANAGER})}

                def get(self, request: Request) -> Response:
                    return Response({})

                def post(self, request: Request) -> Response:
                    return Response({})

    def test_a_rule_without_a_handler_is_refused(self) -> None:
        with pytest.raises(ImproperlyConfigured, match="must name GET and nothing else"):

            class Hopeful(ShopView):
                roles = {"GET": frozenset({MANAGER}), "DELETE": frozenset({MANAGER})}

                def get(self, request: Request) -> Response:
                    return Response({})


class TestHealth:
    def test_alive_asks_nobody(self, django_assert_num_queries: pytest.FixtureRequest) -> None:
        with django_assert_num_queries(0):  # type: ignore[operator]  # pytest-django's fixture is a function.
            answer = Client().get("/healthz")

        assert (answer.status_code, json.loads(answer.content)) == (200, {"status": "alive"})

    def test_ready_asks_everybody(self) -> None:
        answer = Client().get("/readyz")

        assert (answer.status_code, json.loads(answer.content)) == (
            200,
            {
                "status": "ready",
                "checks": {"database": "ok", "broker": "ok", "migrations": "ok", "login_role": "ok"},
            },
        )

    def test_a_broker_that_does_not_answer_is_told_without_its_address(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("REDIS_URL", "redis://:hidden@127.0.0.1:1/0")

        answer = Client().get("/readyz")

        assert answer.status_code == 503
        assert json.loads(answer.content)["checks"]["broker"] == "failed"
        assert b"127.0.0.1" not in answer.content
