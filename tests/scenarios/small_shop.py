"""A shop whose cost base is that of the small roof of DEVELOPERS.md section 1, reached over the API."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from costbase.calc.assemblies import Assembly
from costbase.calc.contents import write
from costbase.calc.contents_table import Edited
from costbase.calc.cost_base import Material
from costbase.models import Network, NetworkEdition
from costbase.scope import network_scope
from tests import make
from tests.rest import bodies
from tests.rest.office import Office, with_severity_rules
from tests.rest.quoting import Quoting, entry, vent
from tests.scenarios import small_roof

Body = dict[str, Any]


def with_small_base(network: Network) -> None:
    """Puts the rates, prices and rules of the page in force, each under the slug by which quotes look it up."""
    with_severity_rules(network)
    base = small_roof.cost_base(small_roof.severity())
    groups: dict[str, Mapping[str, Edited]] = {
        "rate": base.trades, "material": base.materials, "price": base.prices, "assembly": base.assemblies,
        "condition": base.conditions, "component": base.components,
    }  # fmt: skip
    kept: list[tuple[str, str, Edited]] = [
        ("plan", "small", base.plan),
        ("rule", "standard", base.rule),
        ("tiers", "standard", base.tiers),
    ]
    for kind, values in groups.items():
        kept += [(kind, slug, _as_kept(value)) for slug, value in values.items()]
    with network_scope(network.pk, make.OPERATOR):
        NetworkEdition.objects.for_network(network).bulk_create(
            NetworkEdition(network=network, kind=kind, slug=slug, valid_from=date(2020, 1, 1), contents=write(value))
            for kind, slug, value in kept
        )


def _as_kept(value: Edited) -> Edited:
    """An edition names who sets up where there is a set-up, and what a width covers where there is a width, and only then."""
    if isinstance(value, Assembly) and not value.set_up_hours:
        return replace(value, set_up_trade="")
    return replace(value, stock_width_covers="") if isinstance(value, Material) else value


def small_coach(**changes: Any) -> Body:
    """The flat framed section of the page: 20 ft by 96 in with a front and a rear vent."""
    flat = bodies.section(
        construction="framed",
        old_skin="tpo",
        deck="plywood_3_8in",
        length="20 ft",
        crown_rise="0 in",
        edge_radius="0 in",
        tuck="0 in",
        core_thickness="0 in",
        openings=[vent("front vent", "60 in"), vent("rear vent", "150 in")],
        attachments=[],
        captive_nuts=0,
        wiring_runs=0,
    )
    return bodies.coach(label="Invented small roof", roof=bodies.roof(flat), **changes)


class SmallShop(Quoting):
    """An office that quotes the small roof; `booked`, `book` and `at_work` of `tests/rest/working.py` take it."""

    def __init__(self, office: Office) -> None:
        self.office = office
        self.shop = office.shop
        with_small_base(self.shop.network)
        self.coach = self.add_coach(small_coach())
        self.survey = self.add_survey(self.coach)

    def body(self, **changes: Any) -> Body:
        """The request that comes to the page's quote: 3,491.79 of visible work, 137.71 set aside, 3,929.00 to sign."""
        return {
            "coach": self.coach,
            "survey": self.survey,
            "plan": "small",
            "skin": "membrane",
            "reference": "SMALL 1",
            "measures": [entry("backing_count", 1, reason="the front vent moves under the hand")],
            "conditions": [{"condition": "no-bay", "reason": "no bay is free in March"}],
            **changes,
        }
