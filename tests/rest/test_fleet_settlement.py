"""A coach of a fleet that stops: its settlement has the tax that its bill has, worked by hand on six small roofs."""

import pytest

from quotes.models import Job
from tests.rest.fleets import Fleeting
from tests.rest.test_fleet_consents import accept, issued
from tests.rest.test_settlements import act, shown, signature
from tests.rest.working import at_work
from tests.scenarios.small_shop import SmallShop, small_coach

pytestmark = pytest.mark.django_db


class SmallRoofs(Fleeting):
    """Six small roofs of one customer."""

    def __init__(self, small: SmallShop) -> None:
        self.quoting, self.office = small, small.office
        self.customer = self.add_customer()
        made = [small.add_coach(small_coach(plate=f"INV {number}", customer=self.customer)) for number in range(1, 7)]
        self.coaches = [{"coach": coach, "survey": small.add_survey(coach)} for coach in made]

    def body(self, **changes: object) -> dict[str, object]:
        asked = self.quoting.body()
        same = {name: asked[name] for name in ("plan", "skin", "measures", "conditions")}
        return {"label": "Six", "customer": self.customer, "coaches": [dict(one) for one in self.coaches], **same, **changes}


def test_a_settlement_keeps_the_share_of_the_lot_s_tax_and_is_billed_to_the_coin(small: SmallShop) -> None:
    # Visible work of the six 3,290.84, .83, .80, .79, .78 and .78, together 19,744.82. The lot's tax 8.25 % of that is
    # 1,628.94765 -> 1,628.95. Shares down to the cent are 271.49 each, 1,628.94; the cent that is left is of the first, whose
    # 271.4943 lies highest: 271.50 where its own work alone has 271.49. The tax of that coach is a cent more all along.
    roofs = SmallRoofs(small)
    fleet = issued(roofs)
    assert [coach["base"] for coach in fleet["coaches"]] == ["3290.84", "3290.83", "3290.80", "3290.79", "3290.78", "3290.78"]
    first, second = (Job(pk=one["job"]) for one in accept(roofs, fleet).json()["coaches"][:2])
    # One day of storage at 100.22: 8.25 % is 8.26815 -> 8.27, and 108.49 goes to 108. With the cent it is 8.28, 108.50 and 109.
    body = {
        "stopped_on": "2026-03-02",
        "reason": "The owner sells the coach.",
        "storage": {"days": 1, "rate": {"amount": "100.22", "currency": "USD"}, "tax_class": "labour"},
    }
    for job, tax, total in ((first, "8.28", "109.00"), (second, "8.27", "108.00")):
        at_work(small, job, "opening_up")
        settlement = shown(small, job, body)
        assert (settlement["amount"], settlement["tax"], settlement["amount_with_tax"]) == ("100.22", tax, total)
        assert act(small, job, settlement, "signing", signature(settlement)).status_code == 201

        (bill,) = small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).json()["bills"]

        assert (bill["tax"], bill["total"]) == (tax, total)
