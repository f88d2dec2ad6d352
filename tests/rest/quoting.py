"""A shop that can quote: the shipped cost base in force in its network, and the two invented sample coaches."""

from datetime import date, datetime, timedelta
from typing import Any

from costbase.models import Network, NetworkEdition, ShopEdition
from costbase.scope import network_scope
from tests import make
from tests.default_base import staged
from tests.rest import bodies
from tests.rest.office import Office, with_severity_rules

Body = dict[str, Any]


def with_cost_base(network: Network) -> None:
    """Puts the default cost base in force."""
    with_severity_rules(network)
    with network_scope(network.pk, make.OPERATOR):
        NetworkEdition.objects.for_network(network).bulk_create(
            NetworkEdition(
                network=network, kind=entry.kind, slug=entry.slug, valid_from=date(2020, 1, 1), contents=entry.contents
            )
            for entry in staged()
        )


def vent(label: str, station: str) -> Body:
    return bodies.opening(label, station=station)


def coach_34() -> Body:
    """The laminated sample coach: 34 ft by 96 in, two air conditioners, a skylight, three vents."""
    hole = {"length": "14.25 in", "width": "14.25 in", "mass": "95 lb"}
    openings = [
        bodies.opening("front ac", "air_conditioner", station="100 in", **hole),
        bodies.opening("rear ac", "air_conditioner", station="300 in", **hole),
        vent("vent 1", "50 in"),
        vent("vent 2", "150 in"),
        vent("vent 3", "200 in"),
        bodies.opening("skylight", "skylight", station="250 in", length="30 in", width="22 in"),
        bodies.opening("fridge vent", "fridge_vent", station="350 in", offset="30 in", length="24 in", width="10 in"),
        bodies.opening("stack 1", "stack", station="380 in", offset="30 in", length="6 in", width="6 in"),
        bodies.opening("stack 2", "stack", station="380 in", offset="60 in", length="6 in", width="6 in"),
    ]
    attachments = [
        {"kind": "antenna", "count": 1},
        {"kind": "cable_entry", "count": 1},
        {"kind": "ladder", "count": 1, "feet": 4},
        {"kind": "solar_panel", "count": 2, "feet": 8},
        {"kind": "awning", "count": 1},
        {"kind": "slide_topper", "count": 2},
        {"kind": "marker_light", "count": 7},
    ]
    section = bodies.section(openings=openings, attachments=attachments)
    return bodies.coach(roof=bodies.roof(section))


def coach_28() -> Body:
    """The framed sample coach: 28 ft by 98 in, one air conditioner, a skylight, three vents."""
    openings = [
        bodies.opening("ac", "air_conditioner", station="250 in", length="14.25 in", width="14.25 in", mass="95 lb"),
        vent("vent 1", "50 in"),
        vent("vent 2", "100 in"),
        vent("vent 3", "150 in"),
        bodies.opening("skylight", "skylight", station="200 in", length="30 in", width="22 in"),
        bodies.opening("fridge vent", "fridge_vent", station="300 in", offset="30 in", length="24 in", width="10 in"),
        bodies.opening("stack 1", "stack", station="320 in", offset="30 in", length="6 in", width="6 in"),
        bodies.opening("stack 2", "stack", station="320 in", offset="60 in", length="6 in", width="6 in"),
    ]
    attachments = [
        {"kind": "antenna", "count": 1},
        {"kind": "ladder", "count": 1, "feet": 4},
        {"kind": "awning", "count": 1},
        {"kind": "slide_topper", "count": 1},
        {"kind": "marker_light", "count": 5},
    ]
    section = bodies.section(
        construction="framed",
        old_skin="epdm",
        deck="plywood_3_8in",
        length="28 ft",
        body_width="98 in",
        edge_radius="2 in",
        core_thickness="0 in",
        captive_nuts=12,
        wiring_runs=4,
        openings=openings,
        attachments=attachments,
    )
    return bodies.coach(label="Invented 28 footer", roof=bodies.roof(section))


def entry(measure: str, value: object, **changes: Any) -> Body:
    return {"measure": measure, "value": value, "reason": "seen at intake", **changes}


MEASURES = (
    entry("foam_replaced_share", 0.15),
    entry("brace_count", 2),
    entry("backing_count", 4),
    entry("splinter_share", 0.4),
    entry("old_coating_share", 0.5),
    entry("old_bead_length", "150 ft"),
    entry("spun_nut_count", 6),
    entry("wall_top_rot_length", "6 ft"),
    entry("cap_crack_length", "2 ft"),
    entry("wiring_repair_count", 1),
    entry("dry_days", {"value": "3", "unit": "day"}),
    entry("open_days", {"value": "9", "unit": "day"}),
)
FRAMED_MEASURES = (
    entry("deck_replaced_share", 0.15),
    entry("splinter_share", 0.2),
    entry("old_coating_share", 0.3),
    entry("old_bead_length", "80 ft"),
    entry("dry_days", "1 day"),
    entry("indoor_bay", True),
)


class Clock:
    """Stands where the quotes' actions look for the time."""

    def __init__(self) -> None:
        self.moment = make.NOW

    def now(self) -> datetime:
        return self.moment

    def turn(self, *, days: int = 0, hours: int = 0) -> None:
        self.moment += timedelta(days=days, hours=hours)


class Quoting:
    """An office with the default cost base, the sample coach and a walked survey without marks."""

    def __init__(self, office: Office) -> None:
        self.office = office
        self.shop = office.shop
        with_cost_base(self.shop.network)
        self.coach = self.add_coach(coach_34())
        self.survey = self.add_survey(self.coach)

    def add_coach(self, body: Body) -> int:
        answer = self.office.post("coaches", body)
        assert answer.status_code == 201, answer.content.decode()
        number: int = answer.json()["id"]
        return number

    def add_survey(self, coach: int, **changes: Any) -> int:
        """A survey that found nothing, but for what a test says."""
        empty: Body = {"cells": [], "strips": [], "rings": [], "findings": [], "repairs": []}
        answer = self.office.post("surveys", bodies.survey(coach, **{**empty, **changes}))
        assert answer.status_code == 201, answer.content.decode()
        number: int = answer.json()["id"]
        return number

    def body(self, **changes: Any) -> Body:
        """The request of the published example quote."""
        return {
            "coach": self.coach,
            "survey": self.survey,
            "plan": "full-rebuild",
            "skin": "frp",
            "reference": "JOB 17",
            "measures": [dict(measure) for measure in MEASURES],
            **changes,
        }

    def framed_body(self, **changes: Any) -> Body:
        """The request of the other published example, on a coach of its own."""
        coach = self.add_coach(coach_28())
        return {
            "coach": coach,
            "survey": self.add_survey(coach),
            "plan": "skin-over-kept-deck",
            "skin": "membrane",
            "measures": [dict(measure) for measure in FRAMED_MEASURES],
            **changes,
        }

    def draft(self, **changes: Any) -> Any:
        """A new draft, as answered."""
        return self.posted(self.body(**changes))

    def tried(self, **changes: Any) -> Body:
        """A trial, as answered."""
        answer = self.office.post("quotes/trial", self.body(**changes))
        assert answer.status_code == 200, answer.content.decode()
        quote: Body = answer.json()
        return quote

    def posted(self, body: Body) -> Any:
        answer = self.office.post("quotes", body)
        assert answer.status_code == 201, answer.content.decode()
        return answer

    def issue(self, quote_id: int, body: Body | None = None, **kwargs: Any) -> Any:
        """The answer to issuing the version that stands now."""
        tag = self.office.get(f"quotes/{quote_id}")["ETag"]
        return self.office.post(f"quotes/{quote_id}/issue", body or {}, headers={"If-Match": tag}, **kwargs)

    def issued(self, **changes: Any) -> Body:
        """A new quote that was issued, as answered."""
        answer = self.issue(self.draft(**changes).json()["id"])
        assert answer.status_code == 200, answer.content.decode()
        quote: Body = answer.json()
        return quote

    def revise(self, quote: Body, **changes: Any) -> Any:
        """The answer to a new revision from the request of an old one."""
        return self.office.post(f"quotes/{quote['id']}/revisions", {**quote["request"], **changes})

    def own_edition(self, kind: str, slug: str, valid_from: date = date(2026, 1, 1), **changes: Any) -> ShopEdition:
        """An edition of the shop's own, as its network's but for the changes."""
        with self.office.scope():
            return ShopEdition.objects.for_shop(self.shop).create(
                shop=self.shop, kind=kind, slug=slug, valid_from=valid_from, contents={**contents_of(kind, slug), **changes}
            )

    def network_edition(self, kind: str, slug: str, valid_from: date = date(2026, 1, 1), **changes: Any) -> NetworkEdition:
        """A newer edition of the network, as the shipped one but for the changes."""
        network = self.shop.network
        with network_scope(network.pk, make.OPERATOR):
            return NetworkEdition.objects.for_network(network).create(
                network=network, kind=kind, slug=slug, valid_from=valid_from, contents={**contents_of(kind, slug), **changes}
            )


def contents_of(kind: str, slug: str) -> Body:
    """The contents of a shipped edition; empty where none is shipped under the slug."""
    found = [entry.contents for entry in staged() if (entry.kind, entry.slug) == (kind, slug)]
    return dict(found[0]) if found else {}


def line_of(quote: Body, slug: str, trade: str = "") -> Body:
    """The one line of an assembly and trade, or of a material."""
    (found,) = [line for line in quote["lines"] if (line["slug"], line["trade"]) == (slug, trade)]
    return dict(found)
