"""How many statements does a quote take? The same number whatever its size.

Requests run in transactions of their own here, as they do in service, so that the numbers are those of the service.
"""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.rest import bodies
from tests.rest.quoting import Quoting, entry

pytestmark = pytest.mark.django_db(transaction=True)

_NOT_COUNTED = ("BEGIN", "COMMIT", "ROLLBACK", "SAVEPOINT", "RELEASE")
_WRITES = ("INSERT", "UPDATE", "DELETE")
# Every request: the token, the shop, and the settings that bind its rows.
ENTERING = 3


def statements(ask: Callable[..., Any], *args: object, **kwargs: object) -> list[str]:
    with CaptureQueriesContext(connection) as captured:
        answer = ask(*args, **kwargs)
    assert answer.status_code < 300, answer.content.decode()
    return [query["sql"].strip() for query in captured if not query["sql"].upper().startswith(_NOT_COUNTED)]


@pytest.fixture
def warm(quoting: Quoting) -> Quoting:
    """A process that has seen the editions before, and a shop that has kept both cost bases."""
    for body in (large(quoting), small(quoting)):
        quoting.posted(body)
    return quoting


def large(quoting: Quoting) -> dict[str, Any]:
    return quoting.body()


def small(quoting: Quoting) -> dict[str, Any]:
    """A quote of a single labour line."""
    return quoting.body(plan="look-first", measures=[entry("look_first_count", 1)])


def test_a_posted_quote_takes_six_statements_whatever_its_size(warm: Quoting) -> None:
    # Survey with its coach, editions in force, and one that writes number, quote, lines and components.
    for body in (large(warm), small(warm)):
        taken = statements(warm.office.post, "quotes", body)
        assert len(taken) == ENTERING + 3, "\n".join(taken)


def test_with_an_idempotency_key_it_takes_two_more_and_still_no_more_than_eight(warm: Quoting) -> None:
    # The key is claimed, and the answer is kept.
    for key, body in (("one", large(warm)), ("two", small(warm))):
        headers = {"Idempotency-Key": key}
        taken = statements(warm.office.post, "quotes", body, headers=headers)
        assert len(taken) == ENTERING + 5 <= 8, "\n".join(taken)


def test_a_new_cost_base_is_kept_with_two_more(warm: Quoting) -> None:
    # The base is inserted, and what found none is said again.
    taken = statements(warm.office.post, "quotes", warm.body(plan="reseal", measures=[]))
    assert len(taken) == ENTERING + 5, "\n".join(taken)


def test_a_trial_only_reads_the_survey_and_the_editions(warm: Quoting) -> None:
    taken = statements(warm.office.post, "quotes/trial", large(warm))
    assert len(taken) == ENTERING + 2, "\n".join(taken)
    assert not [sql for sql in taken if any(word in sql.upper() for word in _WRITES)]


def test_a_draft_that_is_saved_again_takes_four_statements_of_its_own_and_two_for_what_is_around_it(warm: Quoting) -> None:
    for body in (large(warm), small(warm)):
        path = warm.posted(body)["Location"]
        taken = statements(warm.office.ask, "PUT", path, body, headers={"If-Match": '"v1"'})
        # The offer held, the survey, the editions, the old parts away, the new ones in; what is offered beside it.
        assert len(taken) == ENTERING + 6, "\n".join(taken)


def test_a_quote_is_read_with_four_statements_whatever_its_size(warm: Quoting) -> None:
    for body in (large(warm), small(warm)):
        path = warm.posted(body)["Location"]
        taken = statements(warm.office.get, path)
        # The quote, its lines, its components, what is offered beside it.
        assert len(taken) == ENTERING + 4, "\n".join(taken)


def test_a_page_is_read_with_one_statement_however_long_it_is(warm: Quoting) -> None:
    for limit in (1, 100):
        taken = statements(warm.office.get, f"quotes?limit={limit}")
        assert len(taken) == ENTERING + 1, "\n".join(taken)


def test_issuing_takes_the_same_number_whatever_the_size(warm: Quoting) -> None:
    for body in (large(warm), small(warm)):
        quote_id = warm.posted(body).json()["id"]
        warm.office.get(f"quotes/{quote_id}/amounts/limit/why")  # This process has read the kept base before.
        taken = statements(warm.office.post, f"quotes/{quote_id}/issue", {}, headers={"If-Match": '"v1"'})
        # Held, its alternatives, editions; superseded, issued, the survey locked, editions used; then the quote is read.
        assert len(taken) == ENTERING + 11, "\n".join(taken)


def test_an_offer_is_read_issued_and_added_to_with_as_many_whatever_the_number_of_its_alternatives(warm: Quoting) -> None:
    alone, many = (warm.posted(large(warm)).json()["id"] for _ in range(2))
    for body in (large(warm), small(warm)):
        taken = statements(warm.office.post, f"quotes/{many}/alternatives", body)
        # Held, the survey, which places are taken, editions, and one that writes; what is offered beside it.
        assert len(taken) == ENTERING + 6, "\n".join(taken)
    for quote_id, version in ((alone, 1), (many, 3)):
        taken = statements(warm.office.get, f"quotes/{quote_id}")
        assert len(taken) == ENTERING + 4, "\n".join(taken)
        for other in warm.office.get(f"quotes/{quote_id}").json()["alternatives"]:
            warm.office.get(f"quotes/{other['id']}/amounts/limit/why")  # This process has read each kept base before.
        warm.office.get(f"quotes/{quote_id}/amounts/limit/why")
        warm.tried()  # What an issued quote has read is marked as used, and this process reads it again once.
        taken = statements(warm.office.post, f"quotes/{quote_id}/issue", {}, headers={"If-Match": f'"v{version}"'})
        assert len(taken) == ENTERING + 11, "\n".join(taken)


def test_a_why_takes_three_statements_and_the_kept_base_one_more_the_first_time(warm: Quoting) -> None:
    path = warm.posted(warm.body(plan="reseal", measures=[]))["Location"]
    for own in (3, 2):
        taken = statements(warm.office.get, f"{path}/lines/1/why")
        assert len(taken) == ENTERING + own, "\n".join(taken)


def test_payers_are_read_with_five_statements_and_written_with_four_more_whatever_their_number(warm: Quoting) -> None:
    customers = [warm.office.post("customers", bodies.customer()).json()["id"] for _ in range(3)]
    for count in (1, 3):
        path = f"{warm.posted(large(warm))['Location']}/payers"
        payers = [{"label": f"payer-{at}", "kind": "insurer", "customer": customers[at]} for at in range(count)]
        rules = [{"by": "section", "of": "main", "payer": "payer-0", "cause": "storm"}] * count * 20
        tag = warm.office.get(path)["ETag"]
        written = statements(
            warm.office.ask, "PUT", path, {"payers": payers, "rules": rules}, headers={"If-Match": tag}
        )  # fmt: skip
        # The quote held, customers, old ones away, new ones in with the version; then payers, rules, lines, components.
        assert len(written) == ENTERING + 8, "\n".join(written)
        # The quote, its payers, rules, lines and components.
        assert len(taken := statements(warm.office.get, path)) == ENTERING + 5, "\n".join(taken)


def test_a_revision_takes_its_payers_over_with_one_statement(warm: Quoting) -> None:
    issued = warm.issued()
    warm.tried()  # What an issued quote has read is marked as used, and this process reads it again once.
    taken = statements(warm.office.post, f"quotes/{issued['id']}/revisions", issued["request"])
    # Held, survey, editions, the newest revision, written, payers.
    assert len(taken) == ENTERING + 6, "\n".join(taken)


def test_an_estimate_is_entered_read_and_compared_with_the_same_number_whatever_its_size(warm: Quoting) -> None:
    for count in (1, 50):
        path = f"{warm.posted(large(warm))['Location']}/estimates"
        lines = [
            {"description": "Skin off", "amount": {"amount": "1.00", "currency": "USD"}, "ours": ["labour/skin-off/technician"]}
        ] * count
        body = {"party": "insurer", "dated_on": "2026-02-20", "lines": lines}
        # The quote, the estimate and its lines written; then read with our lines and components, its lines and decisions.
        assert len(taken := statements(warm.office.post, path, body)) == ENTERING + 8, "\n".join(taken)
        own = warm.office.get(path).json()["results"][0]["id"]
        assert len(taken := statements(warm.office.get, f"{path}/{own}")) == ENTERING + 5, "\n".join(taken)
        assert len(taken := statements(warm.office.get, f"{path}/{own}/differences")) == ENTERING + 6, "\n".join(taken)
        assert len(taken := statements(warm.office.get, path)) == ENTERING + 2, "\n".join(taken)
        changed = {**body, "lines": lines[:-1]}
        taken = statements(warm.office.ask, "PUT", f"{path}/{own}", changed, headers={"If-Match": '"v1"'})
        # Held, changed, lines and decisions looked at, old lines away (and new ones in where any are left), then read.
        assert len(taken) == ENTERING + 9 + (count > 1), "\n".join(taken)
