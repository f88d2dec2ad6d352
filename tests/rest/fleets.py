"""A shop that quotes fleets: one invented customer with several coaches alike, each with its survey."""

from typing import Any

from tests.rest import bodies
from tests.rest.quoting import FRAMED_MEASURES, Body, Quoting, coach_28


class Fleeting:
    """An office that can quote, and a customer with three framed coaches of which a survey was made."""

    def __init__(self, quoting: Quoting) -> None:
        self.quoting = quoting
        self.office = quoting.office
        self.customer = self.add_customer()
        self.coaches = [self.add_coach(f"INV {number}") for number in (101, 102, 103)]

    def add_customer(self) -> int:
        answer = self.office.post("customers", bodies.customer(kind="company", name="Invented Rentals", authorisers=[]))
        assert answer.status_code == 201, answer.content.decode()
        number: int = answer.json()["id"]
        return number

    def add_coach(self, plate: str, **changes: Any) -> Body:
        """A coach of the customer as a request for a fleet names it."""
        coach = self.quoting.add_coach({**coach_28(), "plate": plate, "customer": self.customer, **changes})
        return {"coach": coach, "survey": self.quoting.add_survey(coach)}

    def body(self, *, coaches: list[Body] | None = None, **changes: Any) -> Body:
        return {
            "label": "Spring lot",
            "customer": self.customer,
            "coaches": [dict(coach) for coach in (coaches or self.coaches)],
            "plan": "skin-over-kept-deck",
            "skin": "membrane",
            "measures": [dict(measure) for measure in FRAMED_MEASURES],
            **changes,
        }

    def posted(self, **changes: Any) -> Any:
        answer = self.office.post("fleets", self.body(**changes))
        assert answer.status_code == 201, answer.content.decode()
        return answer

    def draft(self, **changes: Any) -> Body:
        fleet: Body = self.posted(**changes).json()
        return fleet

    def tried(self, **changes: Any) -> Body:
        answer = self.office.post("fleets/trial", self.body(**changes))
        assert answer.status_code == 200, answer.content.decode()
        fleet: Body = answer.json()
        return fleet

    def saved(self, fleet_id: int, **changes: Any) -> Body:
        answer = self.office.change(f"fleets/{fleet_id}", self.body(**changes), method="PUT")
        assert answer.status_code == 200, answer.content.decode()
        fleet: Body = answer.json()
        return fleet

    def issue(self, fleet_id: int, body: Body | None = None, **kwargs: Any) -> Any:
        tag = self.office.get(f"fleets/{fleet_id}")["ETag"]
        return self.office.post(f"fleets/{fleet_id}/issue", body or {}, headers={"If-Match": tag}, **kwargs)

    def quotes(self, fleet: Body) -> list[Body]:
        """The quotes of a fleet, read one by one, in the order of the coaches."""
        return [self.office.get(f"quotes/{coach['quote']}").json() for coach in fleet["coaches"]]
