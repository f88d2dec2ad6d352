"""The laminated sample coach at any size: as inputs of a quote, and the prices that the plain oracle works with."""

from functools import cache
from pathlib import Path

from costbase.calc.cost_base import CostBase
from quotes.calc.geometry import Roof
from quotes.calc.inputs import Entered, QuoteInputs
from quotes.calc.survey import Survey
from tests.calc.roofs import air_conditioner, attachment, opening, section, sized
from tests.default_base import cost_base
from tests.oracles.plain_quote import Bought, Size

POINTS_FILE = Path(__file__).resolve().parents[2] / "quotes" / "points.npy"
MARKUP = 0.35
FOOT, DAY = 3048.0, 86_400.0


@cache
def base() -> CostBase:
    return cost_base("full-rebuild")


RATES = {slug: float(trade.billed_per_hour) for slug, trade in base().trades.items()}
GOODS = {
    slug: Bought(
        float(base().prices[slug].pack_price), float(goods.pack_size), float(goods.waste_share), goods.sold_by == "measure"
    )
    for slug, goods in base().materials.items()
}
_SECTION_ENTRIES = {
    "foam_replaced_share": 0.15,
    "brace_count": 2.0,
    "backing_count": 4.0,
    "splinter_share": 0.4,
    "old_coating_share": 0.5,
    "old_bead_length": 150 * FOOT,
    "spun_nut_count": 6.0,
    "wall_top_rot_length": 6 * FOOT,
    "cap_crack_length": 2 * FOOT,
    "wiring_repair_count": 1.0,
    "dry_days": 3 * DAY,
}


def inputs(size: Size) -> QuoteInputs:
    """The sample coach's request with another size of roof."""
    middle = size.width / 2
    roof = section(
        length_in=size.length,
        width_in=size.width,
        crown_in=size.crown,
        radius_in=size.radius,
        tuck_in=size.tuck,
        openings=(
            air_conditioner("front ac", 100, middle),
            air_conditioner("rear ac", 300, middle),
            opening("vent 1", station_in=50),
            opening("vent 2", station_in=150),
            opening("vent 3", station_in=200),
            sized("skylight", "skylight", 250, middle, (30, 22)),
            sized("fridge vent", "fridge_vent", 340, 30, (24, 10)),
            sized("stack 1", "stack", 370, 30, (6, 6)),
            sized("stack 2", "stack", 370, 60, (6, 6)),
        ),
        attachments=(
            attachment("antenna"),
            attachment("cable_entry"),
            attachment("ladder", feet=4),
            attachment("solar_panel", 2, feet=8),
            attachment("awning"),
            attachment("slide_topper", 2),
            attachment("marker_light", 7),
        ),
        captive_nuts=24,
        wiring_runs=6,
    )
    entered = [Entered(slug, "main", value, str(value), "invented") for slug, value in _SECTION_ENTRIES.items()]
    entered.append(Entered("open_days", "", 9 * DAY, "9 day", "invented"))
    return QuoteInputs(
        roof=Roof((roof,), ()),
        survey=Survey("walked", "2026-05-30"),
        scope=(),
        plan="full-rebuild",
        skin="frp",
        options=(),
        conditions=(),
        entered=tuple(entered),
        override=None,
        days=None,
    )
