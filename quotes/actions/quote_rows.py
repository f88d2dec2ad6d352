"""How does a worked quote stand in rows?

Numbers go as JSON strings, so that PostgreSQL reads exact decimals; `quote_statement.py` writes the rows.
"""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import timedelta
from decimal import Decimal
from typing import Any, Protocol

from costbase.calc.money import Currency, decimal_quantity, unit_price
from costbase.calc.units import show
from costbase.models import Shop
from costbase.scope import Actor
from quotes.actions.option_rows import offered_json
from quotes.actions.priced import ENGINE, Draft, Priced
from quotes.calc.contingency import SetAside
from quotes.calc.days import Days
from quotes.calc.hidden import HiddenComponent
from quotes.calc.inputs import DaysOverride
from quotes.calc.kinds import (
    CountedPrice,
    MaterialShare,
    amounts_by_kind,
    by_assembly,
    counted_labour,
    counted_work,
    material_kind,
    material_shares,
)
from quotes.calc.labour import LabourLine, hours_by_phase, hours_by_trade
from quotes.calc.options import Offered
from quotes.calc.pricing import FreightLine, MaterialLine, ShopLine, Visible, amounts_by_phase
from quotes.calc.quote import Quote as Worked
from quotes.calc.takeoff import Take
from quotes.calc.tax import Tax
from quotes.calc.totals import Totals
from quotes.exchange.frozen import factors_to_json, inputs_to_json

Row = dict[str, Any]

SHARE_PLACES = 6


def line_rows(worked: Worked) -> list[Row]:
    """Every line in the order of the quote: labour and material by phase of the plan, then the shop's lines."""
    takes = by_assembly(worked.takes)
    rows = [labour_row(line, takes[line.assembly], worked.currency) for line in worked.visible.labour]
    rows += [material_row(line, takes, worked.currency) for line in worked.visible.materials]
    rows += [freight_row(line) for line in worked.visible.freight]
    rows += [shop_row(line) for line in worked.visible.shop]
    return [{"position": at, **row} for at, row in enumerate(rows, 1)]


def labour_row(line: LabourLine, take: Take, currency: Currency) -> Row:
    """A line of labour, of a quote or of a lot."""
    counted = counted_labour(line, take, currency)
    return {
        "kind": "labour",
        "slug": line.assembly,
        "trade": line.trade,
        "name": line.name,
        "phase": line.phase,
        "price_kind": line.kind,
        "quantity": str(line.hours),
        "unit": "h",
        "price": str(line.rate),
        "amount": str(line.amount),
        "cost": str(line.cost),
        "details": {
            "driver": show(take.driver, take.assembly.driver_unit),
            "sections": _sections(take),
            "template_hours": str(line.template_hours),
            "factor": str(line.factor),
            "multipliers": [{"condition": m.slug, "factor": str(m.factor), "reason": m.reason} for m in line.multipliers],
            **({"counted": _counted(counted)} if counted else {}),
        },
    }


def _sections(take: Take) -> list[Row]:
    """Each section's share of the assembly's driver, six decimals; none for work of the whole quote."""
    whole = sum(driver for _, driver in take.by_section)
    return [
        {"section": label, "share": str(decimal_quantity(driver / whole, SHARE_PLACES))}
        for label, driver in take.by_section
        if label
    ]


def _counted(price: CountedPrice) -> Row:
    return {name: str(value) for name, value in asdict(price).items()}


def _part(share: MaterialShare, take: Take) -> Row:
    told: Row = {"assembly": share.part.assembly, "net": str(share.part.net), "kind": share.kind, "amount": str(share.amount)}
    told["sections"] = _sections(take)
    return {**told, **({"counted": _counted(share.counted)} if share.counted else {})}


def material_row(line: MaterialLine, takes: Mapping[str, Take], currency: Currency) -> Row:
    """A line of a material, of a quote or of a lot, with the share of each assembly."""
    packed = line.packed
    material = packed.material
    return {
        "kind": "material",
        "slug": material.slug,
        "trade": "",
        "name": material.name,
        "phase": line.phase,
        "price_kind": material_kind(line, takes),
        "quantity": str(packed.billed),
        "unit": material.pack_name if packed.billed_in == "pack" else material.unit,
        "price": str(unit_price(line.price)),
        "amount": str(line.amount),
        "cost": str(line.cost),
        "details": {
            "unit": material.unit,
            "net": str(packed.net),
            "with_waste": str(packed.gross),
            "waste_share": str(material.waste_share),
            "pack_size": str(material.pack_size),
            "pack": material.pack_name,
            "packs": str(packed.packs),
            "pack_price": str(line.pack_price),
            "markup": str(line.markup),
            "supply": material.supply,
            "lead_days": material.lead_days,
            "parts": [_part(share, takes[share.part.assembly]) for share in material_shares(line, takes, currency)],
        },
    }


def freight_row(line: FreightLine) -> Row:
    """A line of freight, of a quote or of a lot."""
    return {
        "kind": "material",
        "slug": line.slug,
        "trade": "",
        "name": line.name,
        "phase": line.phase,
        "price_kind": "firm",
        "quantity": "1",
        "unit": "order",
        "price": str(unit_price(line.price)),
        "amount": str(line.amount),
        "cost": str(line.cost),
        "details": {
            "freight_of": line.material.slug,
            "freight": str(line.freight),
            "markup": str(line.markup),
            "tax_class": line.material.tax_class,
        },
    }


def shop_row(line: ShopLine) -> Row:
    """A line of the shop, of a quote or of a lot."""
    return {
        "kind": "shop",
        "slug": line.slug,
        "trade": "",
        "name": line.name,
        "phase": "",
        "price_kind": "firm",
        "quantity": "1",
        "unit": "job",
        "price": f"{line.amount:.6f}",
        "amount": str(line.amount),
        "cost": "0",
        "details": {"worked_on": str(line.worked_on), "share": str(line.share), "tax_class": line.tax_class},
    }


def component_rows(worked: Worked) -> list[Row]:
    """Every hidden component in the order of the cost base."""
    return [
        {"position": at, **_component_row(hidden, share.allowance)}
        for at, (hidden, share) in enumerate(zip(worked.hidden, worked.set_aside.components, strict=True), 1)
    ]


def _component_row(hidden: HiddenComponent, allowance: Decimal) -> Row:
    component = hidden.component
    return {
        "slug": component.slug,
        "construction": hidden.construction,
        "name": component.name,
        "owner_words": component.owner_words,
        "unit": component.unit,
        "tier": hidden.tier,
        "exposure": str(decimal_quantity(hidden.exposure)),
        "chance": hidden.chance,
        "share": hidden.share,
        "unit_price": str(hidden.cost.price),
        "set_up": str(hidden.cost.set_up),
        "labour_part": str(unit_price(hidden.cost.labour)),
        "material_part": str(unit_price(hidden.cost.material)),
        "allowance": str(allowance),
        "details": {
            "no_exposure": hidden.exposure == 0,
            "assemblies": list(hidden.cost.assemblies),
            "can_close_up": component.can_close_up,
            "sections": [
                {
                    "section": part.section,
                    "whole": part.whole,
                    "left_by_survey": part.scale,
                    "exposure": part.exposure,
                }
                for part in hidden.sections
            ],
        },
    }


class Summed(Protocol):
    """A worked quote, or a lot of them."""

    @property
    def currency(self) -> Currency:
        """Of all amounts."""

    @property
    def takes(self) -> tuple[Take, ...]:
        """What every assembly comes to."""

    @property
    def visible(self) -> Visible:
        """Its lines."""

    @property
    def set_aside(self) -> SetAside:
        """What is set aside for its hidden work."""

    @property
    def totals(self) -> Totals:
        """What it comes to."""


def totals_json(worked: Summed, offered: Offered) -> Row:
    """The amounts that are no columns: taxes, roundings, sums by phase and trade, and what offered options add."""
    totals, takes = worked.totals, by_assembly(worked.takes)
    return {
        "labour": str(worked.visible.labour_total),
        "materials": str(worked.visible.material_total),
        "base_taxes": [_tax(tax) for tax in totals.base_taxes],
        "base_tax": str(totals.base_tax),
        "base_rounding": str(totals.base_rounding),
        "limit_taxes": [_tax(tax) for tax in totals.limit_taxes],
        "limit_tax": str(totals.limit_tax),
        "limit_rounding": str(totals.limit_rounding),
        "deposit": str(totals.deposit),
        "base_expected": str(worked.set_aside.base_expected),
        "coverage_share": worked.set_aside.coverage_share,
        "hours_by_phase": {phase: str(hours) for phase, hours in hours_by_phase(worked.visible.labour).items()},
        "hours_by_trade": {trade: str(hours) for trade, hours in hours_by_trade(worked.visible.labour).items()},
        "amounts_by_phase": {phase: str(value) for phase, value in amounts_by_phase(worked.visible).items()},
        "amounts_by_kind": {
            kind: str(value) for kind, value in amounts_by_kind(worked.visible, takes, worked.currency).items()
        },
        "counted": [
            {name: str(value) for name, value in asdict(work).items()}
            for work in counted_work(worked.visible, takes, worked.currency)
        ],
        "offered": offered_json(offered),
    }


def told_json(worked: Worked, promised: DaysOverride | None) -> Row:
    """What is said about the quote besides amounts: tier with its rules, days, warnings, exclusions, cautions."""
    severity = worked.severity
    return {
        "warnings": list(worked.warnings),
        "exclusions": list(worked.exclusions),
        "cautions": list(worked.cautions),
        "tier": severity.tier,
        "tier_by_rules": severity.worked_tier,
        "override_reason": severity.override_reason,
        "fired": [{"tier": rule.tier, "reason": rule.reason, "components": list(rule.components)} for rule in severity.fired],
        "weighted_share": worked.reading.weighted_share,
        "wet_share": worked.reading.wet_share,
        "actions": [{"text": action.text, "source": action.source} for action in worked.reading.actions],
        "days": _days_json(worked.days, promised),
        "conditions": [{"condition": m.slug, "factor": str(m.factor), "reason": m.reason} for m in worked.multipliers],
        "scope": [{"section": span.section, "start": span.start, "end": span.end} for span in worked.scope],
    }


def _days_json(days: Days, promised: DaysOverride | None) -> Row:
    """The worked range with its parts and its schedule; an estimator's promise takes the place of its ends."""
    return {
        "low": promised.low if promised else days.low,
        "high": promised.high if promised else days.high,
        "reason": promised.reason if promised else "",
        "working": days.working,
        "waiting": days.waiting,
        "drying": days.drying,
        "cures": days.cures,
        "sealant": days.sealant,
        "hidden": days.hidden,
        "lead": days.lead,
        "lead_material": days.lead_material,
        "goods_after": days.goods_after,
        "at_once": days.at_once,
        "schedule": [
            {
                "task": task.task,
                "assembly": task.assembly,
                "name": task.name,
                "phase": task.phase,
                "start": task.start,
                "end": task.end,
                "ready": task.ready,
                "waits_for": list(task.waits_for),
                "lead": task.lead,
            }
            for task in days.tasks
        ],
    }


def _tax(tax: Tax) -> Row:
    return {"name": tax.name, "rate": str(tax.rate), "base": str(tax.base), "amount": str(tax.amount)}


def amount_columns(worked: Summed) -> Row:
    """The columns of a quote row or a fleet row that are hours and amounts, which working it out again must give again."""
    totals, aside = worked.totals, worked.set_aside
    return {
        "hours": str(sum((line.hours for line in worked.visible.labour), Decimal(0))),
        "cost": str(totals.cost),
        "base": str(totals.base),
        "record": str(totals.record),
        "allowance": str(totals.allowance),
        "reserve": str(totals.reserve),
        "contingency": str(totals.contingency),
        "limit": str(totals.limit),
        "base_with_tax": str(totals.base_with_tax),
        "limit_with_tax": str(totals.limit_with_tax),
        "p50": str(aside.p50),
        "p80": str(aside.p80),
        "p90": str(aside.p90),
    }


def quote_row(shop: Shop, draft: Draft, priced: Priced, by: Actor) -> Row:
    """The columns of a quote row that pricing decides, without number and revision."""
    worked, rule = priced.worked, priced.cost_base.rule
    aside = worked.set_aside
    return {
        "label": draft.label,
        "reference": draft.reference,
        "customer_id": draft.customer_id,
        "coach_id": draft.coach_id,
        "survey_id": draft.survey_id,
        "priced_on": priced.priced_on.isoformat(),
        "valid_until": (priced.priced_on + timedelta(days=rule.validity_days)).isoformat(),
        "engine": ENGINE,
        "plan": priced.inputs.plan,
        "price_basis": rule.price_basis,
        "currency": shop.currency,
        "level": rule.confidence_level,
        "tier": worked.severity.tier,
        "provisional": worked.provisional,
        "checked_share": worked.reading.checked_share,
        **amount_columns(worked),
        "chance_nothing_found": aside.chance_nothing_found,
        "atoms": list(aside.atoms),
        "totals": totals_json(worked, priced.offered),
        "told": told_json(worked, priced.inputs.days),
        "request": draft.request,
        "inputs": inputs_to_json(priced.inputs),
        "factors": factors_to_json(priced.factors),
        "created_by": by.person_id,
    }
