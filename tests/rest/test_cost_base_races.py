"""What happens when two people change one cost base at once, and when an import meets what was entered by hand?"""

from datetime import date
from typing import Any

import pytest

from costbase.actions.editions import apply_import
from costbase.exchange.staging import Staged
from tests import make
from tests.rest.costing import body, entered, got, listed
from tests.rest.office import office, places
from tests.rest.quoting import Clock, Quoting, contents_of, with_cost_base
from tests.rest.test_idempotency import together


def watch(valid_from: str = "2026-03-02") -> dict[str, Any]:
    return {**body("rate", "estimator", valid_from), "slug": "night-watch"}


@pytest.mark.django_db(transaction=True)
def test_two_changes_that_fit_one_by_one_and_not_together_do_not_both_land(clock: Clock) -> None:
    here = office()
    with_cost_base(here.shop.network)
    made = entered(here, "rates", watch())
    needs = body("assembly", "intake-survey", labour=[{"trade": "night-watch", "rate": "3 * hour"}])
    path, headers = f"rates/night-watch/editions/{made['id']}", {"If-Match": '"v1"'}

    def ask(n: int) -> Any:
        return here.post("assemblies", needs) if n else here.ask("DELETE", path, headers=headers)

    codes = [answer.status_code for answer in together(2, ask)]
    # Whoever comes second finds what the first has done: nothing to name, or something that names it.
    assert codes in ([204, 422], [409, 201])


@pytest.mark.django_db(transaction=True)
def test_of_two_editions_of_one_day_one_lands(clock: Clock) -> None:
    here = office()
    with_cost_base(here.shop.network)
    answers = together(4, lambda _: here.post("rates", watch()))
    assert sorted(answer.status_code for answer in answers) == [201, 409, 409, 409]
    assert {answer.json()["code"] for answer in answers if answer.status_code == 409} == {"already_there"}


def imported(quoting: Quoting, day: date, **changes: Any) -> Any:
    contents = {**contents_of("rate", "estimator"), **changes}
    staged = [Staged("rate", "estimator", contents, "row 2")]
    with quoting.office.scope():
        return apply_import(by=make.OPERATOR, owner=quoting.shop, staged=staged, valid_from=day)


def test_an_import_over_the_end_of_an_override_begins_another(quoting: Quoting) -> None:
    here = quoting.office
    entered(here, "rates", body("rate", "estimator", billed_per_hour="140.00"))
    assert here.post("rates/estimator/follow-network", {"from": "2026-03-04"}).status_code == 201
    # On that very day: the row says contents again. What the file changes is what the network says, which is in force.
    assert imported(quoting, date(2026, 3, 4), billed_per_hour="150.00").changed == (("rate", "estimator"),)
    told = got(here, "rates/estimator?on=2026-03-04")
    assert (told["owner"], told["override"], told["contents"]["billed_per_hour"]) == ("shop", True, "150.00")
    # And later.
    assert here.post("rates/estimator/follow-network", {"from": "2026-03-06"}).status_code == 201
    assert imported(quoting, date(2026, 3, 8), billed_per_hour="150.00").changed == (("rate", "estimator"),)
    days = [row["valid_from"] for row in listed(here, "rates/estimator/editions") if row["owner"] == "shop"]
    assert days == ["2026-03-08", "2026-03-06", "2026-03-04", "2026-03-02"]


def test_an_import_raises_the_version_of_what_it_replaces(quoting: Quoting) -> None:
    here = quoting.office
    made = entered(here, "rates", body("rate", "estimator", billed_per_hour="140.00"))
    imported(quoting, date(2026, 3, 2), billed_per_hour="150.00")
    path = f"rates/estimator/editions/{made['id']}"
    answer = here.ask("DELETE", path, headers={"If-Match": '"v1"'})
    assert answer.status_code == 412
    assert got(here, path)["version"] == 2


def test_drafts_of_editions_know_that_a_shop_follows_its_network(quoting: Quoting, clock: Clock) -> None:
    here = quoting.office
    entered(here, "rates", body("rate", "estimator", billed_per_hour="140.00"))
    assert here.post("rates/estimator/follow-network", {"from": "2026-03-03"}).status_code == 201
    entered(here, "rates", body("rate", "estimator", "2026-03-04", billed_per_hour="150.00"))
    clock.turn(days=1)
    asked = {"kind": "rate", "slug": "estimator"}
    follow = {"editions": [{**asked, "follow_network": True}], "coaches": [quoting.body()]}
    assert places(here.post("editions/trial", follow), 409) == {"#/editions/0/follow_network": "no_override"}
    clock.turn(days=1)
    # Without the edition of that day the network's holds, not what the shop had before it followed.
    withdrawn = {"editions": [{**asked, "withdrawn": True}], "coaches": [quoting.body()]}
    told = here.post("editions/trial", withdrawn).json()
    assert told["editions"][0]["then"] == {"owner": "network", "valid_from": "2020-01-01"}
