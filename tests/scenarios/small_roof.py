"""The small invented roof of DEVELOPERS.md section 1, as a cost base and the inputs of a quote."""

import tomllib
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from costbase.calc.assemblies import Assembly, LabourRate, MaterialNeed
from costbase.calc.cost_base import (
    Component,
    Condition,
    CostBase,
    EditionRef,
    Material,
    Price,
    PricingRule,
    Repair,
    ScopePlan,
    SeverityContents,
    TaxRate,
    TierTable,
    Trade,
)
from costbase.calc.money import currency
from quotes.calc.contingency import NO_HISTORY, SamplePoints, shipped_points
from quotes.calc.geometry import Roof
from quotes.calc.inputs import Entered, QuoteInputs
from quotes.calc.labour import ChosenCondition
from quotes.calc.quote import Quote, compute_quote
from quotes.calc.severity import SeverityRules
from quotes.calc.survey import Survey
from tests.calc.roofs import opening, section

ROOT = Path(__file__).resolve().parents[2]
TIERS = ("skin-deep", "local", "widespread", "frame")
FOOT = 3048.0
INCH = 254.0


def edition(kind: str, slug: str) -> EditionRef:
    return EditionRef(kind, slug, "shop", "2026-01-01")


def trade(slug: str, cost: str, billed: str) -> Trade:
    return Trade(slug, slug, Decimal(cost), Decimal(billed), Decimal("1.5"), edition("rate", slug))


def material(slug: str, unit: str, pack_size: str, waste: str, supply: str, sold_by: str = "pack") -> Material:
    return Material(
        slug=slug,
        name=slug,
        unit=unit,
        pack_size=Decimal(pack_size),
        pack_name="pack",
        waste_share=Decimal(waste),
        supply=supply,
        sold_by=sold_by,
        markup_class="materials",
        lead_days=0,
        foam_safe=None,
        adhesive=False,
        stock_width=None,
        stock_width_covers="visible",
        not_over="",
        tax_class="parts",
        edition=edition("material", slug),
    )


def assembly(
    slug: str,
    phase: str,
    driver: str,
    labour: dict[str, str],
    materials: dict[str, str],
    *,
    kind: str = "firm",
    unit: str = "ft",
    set_up_hours: float = 0.0,
) -> Assembly:
    return Assembly(
        slug=slug,
        name=slug,
        phase=phase,
        level="section",
        kind=kind,
        applies="skin_off",
        driver=driver,
        driver_unit=unit,
        constructions=frozenset({"framed"}),
        skin="",
        labour=tuple(LabourRate(slug_, rate) for slug_, rate in labour.items()),
        set_up_hours=set_up_hours,
        set_up_trade="technician",
        minimum_hours=0.0,
        crew=1,
        materials=tuple(MaterialNeed(slug_, quantity) for slug_, quantity in materials.items()),
        predecessors=(),
        reset_after=(),
        off_share=None,
        elapsed="",
        cure_hours=0.0,
        rain_hold_hours=0.0,
        min_temperature_f=None,
        hold="",
        licensed="",
        on_foam=False,
        cautions=(),
        edition=edition("assembly", slug),
    )


ASSEMBLIES = (
    assembly("skin-off", "strip", "skin_area", {"technician": "0.05 * hour / square_foot"}, {}, unit="ft2", set_up_hours=0.5),
    assembly(
        "membrane-on",
        "skin",
        "skin_area",
        {"technician": "0.0625 * hour / square_foot", "helper": "0.03 * hour / square_foot"},
        {"membrane": "roof_length + 1 * foot", "adhesive": "skin_area * gallon / (80 * square_foot)"},
        unit="ft2",
    ),
    assembly(
        "bead",
        "seal",
        "perimeter",
        {"technician": "0.03 * hour / foot"},
        {"sealant": "perimeter * 0.5 * (0.375 * inch)**2 / (10.1 * fluid_ounce)"},
    ),
    assembly(
        "backing-frame",
        "brace",
        "backing_count",
        {"technician": "0.8 * hour"},
        {"strip": "backing_count * 6 * foot"},
        kind="counted",
        unit="each",
        set_up_hours=0.5,
    ),
)

MATERIALS = (
    material("membrane", "ft", "1", "0.05", "job", "measure"),
    material("adhesive", "gal", "1", "0.10", "job"),
    material("sealant", "each", "1", "0.10", "stock"),
    material("strip", "ft", "8", "0.12", "stock"),
)
PRICES = {"membrane": "12.75", "adhesive": "54.00", "sealant": "12.00", "strip": "6.80"}


def cost_base(severity: dict[str, object]) -> CostBase:
    """The rates, prices and rules of the page; `severity` as the project ships it."""
    return CostBase(
        currency=currency("USD"),
        priced_on="2026-06-01",
        trades={"technician": trade("technician", "40", "100.00"), "helper": trade("helper", "25", "60.00")},
        materials={goods.slug: goods for goods in MATERIALS},
        prices={slug: Price(slug, Decimal(price), edition("price", slug)) for slug, price in PRICES.items()},
        assemblies={work.slug: work for work in ASSEMBLIES},
        conditions={
            "no-bay": Condition(
                "no-bay",
                "outdoors",
                Decimal("1.1"),
                frozenset(),
                frozenset({"strip"}),
                frozenset(),
                "",
                edition("condition", "no-bay"),
            )
        },
        plan=ScopePlan(
            slug="small",
            name="Small roof",
            sets={"skin_off": True, "dust_work": True, "own_skip": False},
            assemblies=tuple(work.slug for work in ASSEMBLIES),
            quantities={},
            opens=True,
            refuse_above_wet_share=None,
            note="",
            edition=edition("plan", "small"),
        ),
        rule=rule(),
        components={"opening_frame": opening_frame()},
        tiers=TierTable(dict.fromkeys(TIERS, 0.0), dict.fromkeys(TIERS, 0.0), "invented", edition("tiers", "tiers")),
        severity=SeverityContents(severity, edition("severity", "severity")),
    )


def rule() -> PricingRule:
    return PricingRule(
        slug="rule",
        price_basis="firm",
        markups={"materials": Decimal("0.35")},
        stock_billing="use",
        overhead_share=Decimal("0.08"),
        supplies_share=Decimal("0.03"),
        supplies_cap=Decimal("60.00"),
        minimum_charge=Decimal("3000.00"),
        tax_mode="parts_and_labour",
        tax_rates=(TaxRate("Sales tax", Decimal("0.0825")),),
        supplies_tax_class="parts",
        overhead_tax_class="labour",
        minimum_tax_class="labour",
        deposit_share=Decimal("0"),
        validity_days=30,
        confidence_level=0.8,
        total_step=Decimal("1"),
        hours_a_day=8.0,
        edition=edition("rule", "rule"),
    )


def opening_frame() -> Component:
    return Component(
        slug="opening_frame",
        name="Frame at another opening",
        unit="each",
        constructions=frozenset({"framed"}),
        exposure="opening_count - ac_count - backing_count",
        measure="backing_count",
        repairs=(Repair(("backing-frame",), 1, {}),),
        priced_share=None,
        chance_mid=0.6,
        share_mid=0.5,
        table={},
        phi=4.0,
        load=0.0,
        patch=1.0,
        column=10,
        scaled_by="rings",
        can_close_up=True,
        owner_words="the frame at a vent",
        label="invented",
        edition=edition("component", "opening_frame"),
    )


@cache
def points() -> SamplePoints:
    return shipped_points(np.load(ROOT / "quotes/points.npy"))


@cache
def severity() -> dict[str, object]:
    """The severity rules that the project ships."""
    shipped = tomllib.loads((ROOT / "fixtures/network/severity.toml").read_text(encoding="utf-8"))
    contents: dict[str, object] = shipped["severity"]["severity"]
    return contents


def inputs() -> QuoteInputs:
    """The flat framed section of the page with its two vents, one of which gets a new frame in this price."""
    flat = section(
        construction="framed",
        old_skin="tpo",
        deck="plywood_3_8in",
        length_in=240,
        width_in=96,
        crown_in=0,
        radius_in=0,
        tuck_in=0,
        core_in=0,
        openings=(opening("front vent", station_in=60), opening("rear vent", station_in=150)),
    )
    return QuoteInputs(
        roof=Roof((flat,), ()),
        survey=Survey("walked", "2026-05-30"),
        scope=(),
        plan="small",
        skin="membrane",
        options=(),
        conditions=(ChosenCondition("no-bay", "no bay is free in June"),),
        entered=(Entered("backing_count", "", 1.0, "1", "the front vent moves under the hand"),),
        override=None,
        days=None,
    )


def quoted(code: str = "USD", **rule: Any) -> Quote:
    """The page's quote, or the same in another currency or under a changed pricing rule."""
    base = cost_base(severity())
    base = replace(base, currency=currency(code), rule=replace(base.rule, **rule))
    return compute_quote(inputs(), base, SeverityRules.from_contents(severity()), NO_HISTORY, points())
