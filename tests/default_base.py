"""The default cost base of `fixtures/network`, read through the import path as a shop's own file would be."""

import tomllib
from functools import cache
from pathlib import Path
from typing import TypeVar, cast

from costbase.calc.assemblies import Assembly
from costbase.calc.checks import Editions
from costbase.calc.contents import read
from costbase.calc.cost_base import (
    Component,
    Condition,
    CostBase,
    EditionRef,
    Material,
    Price,
    PricingRule,
    ScopePlan,
    SeverityContents,
    TierTable,
    Trade,
)
from costbase.calc.money import currency
from costbase.exchange.csv_tables import read_csv
from costbase.exchange.staging import Staged, Staging
from costbase.exchange.toml_tables import read_toml

NETWORK = Path(__file__).parent.parent / "fixtures" / "network"
FIRST_DAY = "2026-01-01"
CSV_FILES = {"rates.csv": "rate", "materials.csv": "material", "prices.csv": "price"}
TOML_FILES = ("assemblies.toml", "plans.toml", "conditions.toml", "components.toml", "rule.toml", "tiers.toml")

E = TypeVar("E", Trade, Material, Price, Assembly, ScopePlan, Condition, PricingRule, Component, TierTable)


@cache
def stagings() -> tuple[Staging, ...]:
    """Every file of the default base, staged."""
    tables = [read_csv(name, kind, (NETWORK / name).read_bytes()) for name, kind in CSV_FILES.items()]
    return (*tables, *(read_toml(name, (NETWORK / name).read_bytes()) for name in TOML_FILES))


def staged() -> list[Staged]:
    return [entry for staging in stagings() for entry in staging.entries]


def values(kind: type[E], name: str) -> dict[str, E]:
    """The values of one kind by slug."""
    return {
        entry.slug: read(kind, entry.contents, EditionRef(name, entry.slug, "network", FIRST_DAY))
        for entry in staged()
        if entry.kind == name
    }


@cache
def editions() -> Editions:
    return Editions(
        trades=values(Trade, "rate"),
        materials=values(Material, "material"),
        prices=values(Price, "price"),
        assemblies=values(Assembly, "assembly"),
        plans=values(ScopePlan, "plan"),
        conditions=values(Condition, "condition"),
        components=values(Component, "component"),
        rules=values(PricingRule, "rule"),
    )


def cost_base(plan: str) -> CostBase:
    """The frozen bundle of one plan, as a quote of a shop in US dollars would read it."""
    base = editions()
    severity = tomllib.loads((NETWORK / "severity.toml").read_text(encoding="utf-8"))["severity"]["severity"]
    return CostBase(
        currency=currency("USD"),
        priced_on=FIRST_DAY,
        trades=dict(base.trades),
        materials=dict(base.materials),
        prices=dict(base.prices),
        assemblies=dict(base.assemblies),
        conditions=dict(base.conditions),
        plan=base.plans[plan],
        rule=base.rules["standard"],
        components=dict(base.components),
        tiers=values(TierTable, "tiers")["standard"],
        severity=SeverityContents(cast(dict[str, object], severity), EditionRef("severity", "standard", "network", FIRST_DAY)),
    )
