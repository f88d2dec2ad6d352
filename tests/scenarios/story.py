"""A shop at work, told by its requests alone: from a quote to a settled job, at the clock's own time."""

import uuid
from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from quotes.actions.priced import shop_day
from tests.rest.quoting import Quoting

Body = dict[str, Any]


class Story:
    """What people of one shop, and the owner, do with a quote and its job. Each method asks once and wants it done."""

    def __init__(self, shop: Quoting, quote: Body) -> None:
        self.shop, self.office, self.quote = shop, shop.office, quote
        self.job = 0
        self.currency = str(quote["currency"])

    # asking

    def get(self, path: str, **kwargs: Any) -> Body:
        answer = self.office.get(path, **kwargs)
        assert answer.status_code == 200, answer.content.decode()
        found: Body = answer.json()
        return found

    def post(self, path: str, body: Body, *, tag: str = "", role: str = "estimator", status: int | None = None) -> Body:
        """The answer to a request that shall be done, or be refused with a status."""
        headers = {"If-Match": tag} if tag else {}
        answer = self.office.post(path, body, headers=headers, role=role)
        expected = {status} if status else {200, 201}
        assert answer.status_code in expected, answer.content.decode()
        told: Body = answer.json()
        return told

    def tag(self, path: str) -> str:
        return str(self.office.get(path)["ETag"])

    def money(self, amount: str) -> Body:
        return {"amount": amount, "currency": self.currency}

    @property
    def day(self) -> str:
        return shop_day(self.shop.shop, timezone.now()).isoformat()

    def words(self) -> Body:
        """What every consent on paper says."""
        return {"manner": "written", "name": "Invented Owner", "at": timezone.now().isoformat()}

    # before the job

    def document(self, options: str = "") -> Body:
        return self.get(f"quotes/{self.quote['id']}/document{f'?options={options}' if options else ''}")

    def accept(self, payer: str = "owner", **changes: Any) -> Body:
        """An acceptance of the document as it stands by one of its payers; with the last one the job is booked."""
        shown = self.document()
        (part,) = [row["limit_with_tax"] for row in shown["document"]["payers"] if row["payer"] == payer]
        path = f"quotes/{self.quote['id']}"
        body = {
            **self.words(), "payer": payer, "options": [], "old_parts": "discard", "document_hash": shown["document_hash"],
            "limit_with_tax": self.money(part), **changes,
        }  # fmt: skip
        told = self.post(f"{path}/acceptance", body, tag=self.tag(path))
        self.job = told["job"] or 0
        return told

    # the job

    def shown(self) -> Body:
        return self.get(f"jobs/{self.job}")

    def move(self, to: str, reason: str = "") -> None:
        self.post(f"jobs/{self.job}/state", {"to": to, "reason": reason}, tag=self.tag(f"jobs/{self.job}"))

    def open(self, **entry: Any) -> Body:
        return self.post(f"jobs/{self.job}/openings", {"client_id": str(uuid.uuid4()), "day": self.day, **entry})

    def note(self, component: str, extent: str, *, status: int | None = None, **changes: Any) -> Body:
        """A found note on a component."""
        photograph = {"reference": "invented-1.jpg", "words": "as found"}
        body = {
            "client_id": str(uuid.uuid4()), "component": component, "extent": extent, "photographs": [photograph], **changes,
        }  # fmt: skip
        return self.post(f"jobs/{self.job}/found-notes", body, status=status)

    def count(self, assembly: str, done: str, *, status: int | None = None) -> Body:
        body = {"client_id": str(uuid.uuid4()), "assembly": assembly, "done": done}
        return self.post(f"jobs/{self.job}/counted", body, status=status)

    def count_as_quoted(self, *without: str) -> None:
        """Everything that is counted was done as it was quoted."""
        for work in self.quote["counted"]:
            if work["assembly"] not in without:
                self.count(work["assembly"], f"{work['quantity']} {work['unit']}")

    def order(self, body: Body) -> Body:
        """A change order that was drafted and sent."""
        drafted = self.post(f"jobs/{self.job}/change-orders", body)
        path = f"jobs/{self.job}/change-orders/{drafted['id']}"
        return self.post(f"{path}/sending", {}, tag=self.tag(path))

    def answer_order(self, order: Body, way: str, **changes: Any) -> Body:
        """The acceptance of one way of an order, as it was shown."""
        path = f"jobs/{self.job}/change-orders/{order['id']}"
        (shown,) = [each for each in order["document"]["ways"] if each["way"] == way]
        body = {
            **self.words(), "way": way, "document_hash": order["document_hash"],
            "limit_with_tax": self.money(shown["limit_with_tax"]), **changes,
        }  # fmt: skip
        return self.post(f"{path}/acceptance", body, tag=self.tag(path))

    def worker(self, label: str, trade: str) -> int:
        return int(self.post("workers", {"label": label, "trade": trade}, role="manager")["id"])

    def log(self, *entries: Mapping[str, Any], status: int | None = None) -> Body:
        sent = [{"client_id": str(uuid.uuid4()), "day": self.day, **entry} for entry in entries]
        return self.post(f"jobs/{self.job}/entries", {"entries": sent}, status=status)

    # the end

    def test_for_leaks(self, *, passed: bool = True) -> Body:
        body = {
            "client_id": str(uuid.uuid4()), "method": "hose", "day": self.day, "tested_by": "north bay", "passed": passed,
            "places": [] if passed else ["rear vent"],
        }  # fmt: skip
        return self.post(f"jobs/{self.job}/leak-tests", body)

    def bills(self, kind: str = "final", **changes: Any) -> list[Body]:
        """What was billed, one document for each payer."""
        told = self.post(f"jobs/{self.job}/bills", {"kind": kind, **changes}, tag=self.tag(f"jobs/{self.job}"))
        documents: list[Body] = told["bills"]
        return documents

    def bill(self, kind: str = "final", **changes: Any) -> Body:
        """The one bill of a job with one payer."""
        (only,) = self.bills(kind, **changes)
        return only

    def pay(self, amount: str, payer: str = "owner", kind: str = "payment") -> Body:
        body = {
            "client_id": str(uuid.uuid4()), "kind": kind, "payer": payer, "day": self.day, "way": "bank transfer",
            "amount": self.money(amount),
        }  # fmt: skip
        return self.post(f"jobs/{self.job}/payments", body)

    def hand_over(self) -> Body:
        parts = [{"part": "roof skin and joints", "workmanship_months": 24}]
        body = {"day": self.day, "parts": parts, "keys": "two keys, to the owner"}
        return self.post(f"jobs/{self.job}/hand-over", body, tag=self.tag(f"jobs/{self.job}"))

    def settle(self, **changes: Any) -> Body:
        return self.post(f"jobs/{self.job}/settling", changes, tag=self.tag(f"jobs/{self.job}"))

    def finish(self) -> None:
        """From rebuilding to handed over."""
        self.move("testing")
        self.test_for_leaks()
        self.hand_over()


def story(shop: Quoting, **changes: Any) -> Story:
    """The story of a quote that was just issued."""
    return Story(shop, shop.issued(**changes))
