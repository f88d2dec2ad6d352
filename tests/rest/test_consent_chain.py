"""Would it show if somebody had changed a consent, and what of it outlasts an erasure?"""

from collections.abc import Iterator

import psycopg
import pytest
from django.db import IntegrityError, ProgrammingError, connection, transaction
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from api.environment import DatabaseUrl
from quotes.models import Consent, ConsentGiver
from tests.conftest import address
from tests.rest import bodies
from tests.rest.consenting import SMALL, accept, by_link, consents, make_link, post, refusal, yes
from tests.rest.office import Office, problem
from tests.rest.quoting import Body, Quoting, coach_34


def answered_twice(quoting: Quoting) -> Body:
    """A quote that was declined, revised and accepted: two records under one number."""
    first = quoting.issued(**SMALL)
    assert post(quoting, f"quotes/{first['id']}/refusal", refusal()).status_code == 201
    second = quoting.issue(quoting.revise(first).json()["id"]).json()
    assert accept(quoting, second["id"]).status_code == 201
    return dict(second)


@pytest.mark.django_db
class TestReading:
    def test_all_of_a_number_stands_in_one_chain(self, quoting: Quoting) -> None:
        quote = answered_twice(quoting)
        listed = consents(quoting, quote["id"])
        assert (listed["number"], listed["state"], listed["intact"], listed["broken_links"]) == (
            quote["number"], "accepted", True, [],
        )  # fmt: skip
        first, second = listed["consents"]
        assert [(one["seq"], one["outcome"]) for one in (first, second)] == [(1, "declined"), (2, "accepted")]
        assert (first["before"], second["before"]) == ("0" * 64, first["hash"])
        assert first["document_hash"] != second["document_hash"]

    def test_estimators_see_who_gave_it_and_analysts_do_not(self, quoting: Quoting) -> None:
        quote = answered_twice(quoting)
        assert consents(quoting, quote["id"], role=ESTIMATOR)["consents"][0]["giver"]["name"] == "Invented Owner"
        listed = consents(quoting, quote["id"], role=ANALYST)
        assert "giver" not in listed["consents"][0]
        assert "Invented Owner" not in str(listed)
        assert listed["intact"]

    def test_another_shop_finds_none(self, quoting: Quoting, elsewhere: Office) -> None:
        quote = answered_twice(quoting)
        assert problem(elsewhere.get(f"quotes/{quote['id']}/consents"), 404)["code"] == "not_found"

    def test_a_long_chain_takes_no_more_queries(self, quoting: Quoting) -> None:
        quote = answered_twice(quoting)
        counts = []
        for _ in range(2):
            with CaptureQueriesContext(connection, ) as queries:  # fmt: skip
                consents(quoting, quote["id"])
            counts.append(len(queries))
            again = quoting.issued(**SMALL)
            post(quoting, f"quotes/{again['id']}/refusal", refusal())
            quote = again
            for _ in range(3):
                revised = quoting.issue(quoting.revise(quote).json()["id"]).json()
                post(quoting, f"quotes/{revised['id']}/refusal", refusal())
                quote = revised
        assert len(consents(quoting, quote["id"])["consents"]) == 4
        assert counts[0] == counts[1]


@pytest.mark.django_db
class TestTheDatabase:
    def test_the_service_only_adds(self, quoting: Quoting) -> None:
        answered_twice(quoting)
        for statement in (
            "UPDATE quotes_consent SET payer = 'x'",
            "DELETE FROM quotes_consent",
            "DELETE FROM quotes_consentgiver",
        ):
            with quoting.office.scope(), pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
                connection.cursor().execute(statement)

    def test_who_gave_it_is_emptied_once_and_never_rewritten(self, quoting: Quoting) -> None:
        answered_twice(quoting)
        with quoting.office.scope():
            rows = ConsentGiver.objects.for_shop(quoting.shop)
            now = rows.first().consent.created  # type: ignore[union-attr]
            for change in ({"name": "Another"}, {"name": ""}, {"salt": b"x", "erased_at": now}, {"erased_at": now}):
                with pytest.raises(IntegrityError, match="stays as it was written"), transaction.atomic():
                    rows.update(**change)
            emptied = {"name": "", "contact": "", "address": "", "agent": "", "erased_at": now}
            rows.update(**emptied)
            with pytest.raises(IntegrityError), transaction.atomic():
                rows.update(**emptied)

    def test_a_fork_is_refused(self, quoting: Quoting) -> None:
        answered_twice(quoting)
        with quoting.office.scope():
            twin = Consent.objects.for_shop(quoting.shop).order_by("seq").last()
            assert twin is not None
            twin.pk = None
            with pytest.raises(IntegrityError, match="no_fork"), transaction.atomic():
                twin.save(force_insert=True)


@pytest.mark.django_db(transaction=True)
class TestTampering:
    """By somebody who may write whatever they like: the role that owns the tables."""

    @pytest.fixture
    def owner(self, owner_login: DatabaseUrl) -> Iterator[psycopg.Connection]:
        with psycopg.connect(address(owner_login), autocommit=True) as found:
            yield found

    @pytest.mark.parametrize(
        ("statement", "broken"),
        [
            ("UPDATE quotes_consent SET limit_with_tax = limit_with_tax + 500 WHERE seq = 2", [2]),
            ("UPDATE quotes_consent SET outcome = 'accepted' WHERE seq = 1", [1]),
            ("UPDATE quotes_consent SET at = at - interval '1 day' WHERE seq = 2", [2]),
            ('UPDATE quotes_consent SET said = said || \'{"reason": "None."}\' WHERE seq = 1', [1]),
            ("UPDATE quotes_consent SET promised_on = '2026-09-01' WHERE seq = 2", [2]),
            # Hashed anew, it breaks with the next one.
            ("UPDATE quotes_consent SET hash = repeat('a', 64) WHERE seq = 1", [1, 2]),
            ("UPDATE quotes_consent SET seq = 3 WHERE seq = 2", [3, 3]),
            ("DELETE FROM quotes_consentgiver USING quotes_consent c WHERE consent_id = c.id AND c.seq = 1", [1]),
        ],
    )
    def test_it_shows(self, quoting: Quoting, owner: psycopg.Connection, statement: str, broken: list[int]) -> None:
        quote = answered_twice(quoting)
        assert consents(quoting, quote["id"])["intact"]
        assert owner.execute(statement).rowcount == 1
        listed = consents(quoting, quote["id"])
        assert not listed["intact"]
        assert [link["seq"] for link in listed["broken_links"]] == broken
        assert all(link["reason"] for link in listed["broken_links"])

    def test_another_giver_shows_although_the_rule_of_the_table_was_put_off(
        self, quoting: Quoting, owner: psycopg.Connection
    ) -> None:
        quote = answered_twice(quoting)
        with owner.transaction():
            owner.execute("ALTER TABLE quotes_consentgiver DISABLE TRIGGER quotes_consent_giver_stays")
            owner.execute("UPDATE quotes_consentgiver SET name = 'Somebody Else'")
            owner.execute("ALTER TABLE quotes_consentgiver ENABLE TRIGGER quotes_consent_giver_stays")
        assert [link["seq"] for link in consents(quoting, quote["id"])["broken_links"]] == [1, 2]


@pytest.mark.django_db
class TestErasure:
    def test_the_words_go_and_the_chain_stays_sound(self, quoting: Quoting) -> None:
        office = quoting.office
        customer = office.post("customers", bodies.customer(name="Invented Zebedee")).json()["id"]
        coach = quoting.add_coach({**coach_34(), "customer": customer})
        first = quoting.issued(coach=coach, survey=quoting.add_survey(coach), **SMALL)
        oral = refusal(name="Invented Zebedee", manner="oral", contact="555 0199")
        assert post(quoting, f"quotes/{first['id']}/refusal", oral).status_code == 201
        second = quoting.issue(quoting.revise(first).json()["id"]).json()
        token = make_link(quoting, second["id"])["token"]
        read = by_link(token).json()
        assert by_link(token, "/acceptance", yes(read, name="Invented Zebedee"), agent="Invented Browser 9").status_code == 201
        before = consents(quoting, second["id"])

        tag = office.get(f"customers/{customer}")["ETag"]
        assert office.post(f"customers/{customer}/erasure", {}, headers={"If-Match": tag}).status_code == 200

        after = consents(quoting, second["id"])
        assert after["intact"]
        for one in after["consents"]:
            giver = one.pop("giver")
            assert giver.pop("erased_at")
            assert set(giver.values()) == {""}
        for one in before["consents"]:
            del one["giver"]
        assert after["consents"] == before["consents"]
        with office.scope(), connection.cursor() as cursor:
            for table in ("quotes_consent", "quotes_consentgiver", "quotes_showndocument"):
                cursor.execute(f"SELECT count(*) FROM {table} AS t WHERE t::text ILIKE ANY(ARRAY['%Zebedee%', '%555 0199%'])")
                assert cursor.fetchone() == (0,), table
                cursor.execute(f"SELECT count(*) FROM {table} AS t WHERE t::text ILIKE '%Invented Browser 9%'")
                assert cursor.fetchone() == (0,), table

    def test_what_others_gave_stays(self, quoting: Quoting) -> None:
        quote = answered_twice(quoting)
        office = quoting.office
        other = office.post("customers", bodies.customer()).json()["id"]
        tag = office.get(f"customers/{other}")["ETag"]
        assert office.post(f"customers/{other}/erasure", {}, headers={"If-Match": tag}).status_code == 200
        assert consents(quoting, quote["id"])["consents"][0]["giver"]["name"] == "Invented Owner"
