"""How many statements does a fleet take? The same number whatever the number of its coaches."""

import pytest

from tests.rest.fleets import Fleeting
from tests.rest.quoting import Quoting
from tests.rest.test_quote_queries import ENTERING, statements

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def warm(quoting: Quoting) -> Fleeting:
    """A process that has seen the editions before, and a shop that has kept the cost base, with five coaches."""
    fleeting = Fleeting(quoting)
    fleeting.coaches += [fleeting.add_coach(f"INV {number}") for number in (104, 105)]
    fleeting.posted()
    return fleeting


def lots(warm: Fleeting) -> list[dict[str, object]]:
    return [warm.body(), warm.body(coaches=warm.coaches[:2])]


def test_a_posted_fleet_takes_four_statements_of_its_own(warm: Fleeting) -> None:
    # The customer, the surveys with their coaches, the editions in force, and one that writes everything.
    for body in lots(warm):
        taken = statements(warm.office.post, "fleets", body)
        assert len(taken) == ENTERING + 4, "\n".join(taken)


def test_a_trial_takes_three(warm: Fleeting) -> None:
    for body in lots(warm):
        taken = statements(warm.office.post, "fleets/trial", body)
        assert len(taken) == ENTERING + 3, "\n".join(taken)


def test_a_fleet_that_is_saved_again_takes_seven(warm: Fleeting) -> None:
    # The row held, customer, surveys, editions, the quotes that stay, the old parts away, the new ones in.
    for body in lots(warm):
        path = warm.office.post("fleets", body)["Location"]
        taken = statements(warm.office.ask, "PUT", path, body, headers={"If-Match": '"v1"'})
        assert len(taken) == ENTERING + 7, "\n".join(taken)


def test_a_fleet_is_read_with_two_and_a_page_of_them_with_one(warm: Fleeting) -> None:
    for body in lots(warm):
        path = warm.office.post("fleets", body)["Location"]
        assert len(statements(warm.office.get, path)) == ENTERING + 2
        assert len(statements(warm.office.get, "fleets")) == ENTERING + 1


def test_issuing_and_deleting_take_the_same_whatever_the_number(warm: Fleeting) -> None:
    to_delete = set()
    for body in lots(warm):
        issued, deleted = (warm.office.post("fleets", body).json()["id"] for _ in range(2))
        # This process has read the kept base before.
        warm.office.get(f"quotes/{warm.office.get(f'fleets/{issued}').json()['coaches'][0]['quote']}/amounts/limit/why")
        taken = statements(warm.office.post, f"fleets/{issued}/issue", {}, headers={"If-Match": '"v1"'})
        # Held, its quotes, editions; quotes issued, surveys locked, editions marked as used, the fleet issued; then the fleet
        # is read for its answer, with its quotes.
        assert len(taken) == ENTERING + 9, "\n".join(taken)
        taken = statements(warm.office.ask, "DELETE", f"fleets/{deleted}", headers={"If-Match": '"v1"'})
        to_delete.add(len(taken))
        assert warm.office.get(f"quotes?fleet={deleted}").json()["results"] == []
    assert len(to_delete) == 1


def test_the_reason_of_a_share_reads_the_whole_fleet_with_one_more(warm: Fleeting) -> None:
    for body in lots(warm):
        quote = warm.office.post("fleets", body).json()["coaches"][1]["quote"]
        warm.office.get(f"quotes/{quote}/lines/1/why")
        taken = statements(warm.office.get, f"quotes/{quote}/lines/1/why")
        assert len(taken) == ENTERING + 3, "\n".join(taken)


def test_the_document_of_an_issued_fleet_takes_as_many_for_two_as_for_five(warm: Fleeting) -> None:
    counts = {}
    for body in lots(warm):
        fleet = warm.office.post("fleets", body).json()
        tag = warm.office.get(f"fleets/{fleet['id']}")["ETag"]
        issued = warm.office.post(f"fleets/{fleet['id']}/issue", {}, headers={"If-Match": tag})
        assert issued.status_code == 200, issued.content.decode()
        taken = statements(warm.office.get, f"fleets/{fleet['id']}/document")
        counts[len(fleet["coaches"])] = len(taken)
    assert counts[2] == counts[5]
