"""What must hold between the fields of one edition?

Each field may be right and the edition wrong: a set-up without a trade, a tax rate where no tax is charged.
Every function here yields one fault for each such slip, with the field where it is put right.
"""

from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise

from costbase.calc.assemblies import Assembly
from costbase.calc.cost_base import (
    Component,
    Condition,
    Material,
    PricingRule,
    ScopePlan,
    TierTable,
)
from costbase.calc.errors import CalculationError
from costbase.calc.fields import ContentsError
from costbase.calc.formula import Choice
from costbase.calc.measures import MEASURES
from costbase.calc.units import BY_SYMBOL, NONE

TIERS = ("skin-deep", "local", "widespread", "frame")
# Columns of the sample points that components may take; 0 is the shared wetness, 7 the doubt of the find
# factor.
COLUMNS = (1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 13, 14, 15)


def no_faults(_: object) -> Iterable[CalculationError]:
    """Nothing can be wrong between the fields of this kind."""
    return ()


def material_faults(material: Material) -> Iterable[CalculationError]:
    """A width without its use, whole ones of what is poured, sizes of nothing."""
    if (material.stock_width is None) != (material.stock_width_covers == ""):
        yield ContentsError(
            "a stock width needs to say which width of the roof it covers, and the other way round",
            field="stock_width_covers",
        )
    if material.whole and BY_SYMBOL[material.unit].dimension != NONE:
        yield ContentsError(f"a material counted in {material.unit} is not used in whole ones", field="whole")
    yield from _stock_faults(material)
    for name in ("stock_width", "stock_length", "sheet_length", "sheet_width", "unit_mass", "areal_mass"):
        if getattr(material, name) == 0:
            yield ContentsError("expected a size above nothing", field=name, value=0)


def _stock_faults(material: Material) -> Iterable[CalculationError]:
    """A sheet with one side, or laying without what is laid."""
    if (material.sheet_length is None) != (material.sheet_width is None):
        yield ContentsError("a sheet has two sides: give both sheet_length and sheet_width, or none", field="sheet_width")
    if material.sheet_length is not None and material.sheet_width is not None and material.sheet_length < material.sheet_width:
        yield ContentsError("the length of a sheet is its longer side", field="sheet_length")
    for name in ("stagger", "least_piece"):
        if getattr(material, name) is not None and material.sheet_length is None:
            yield ContentsError("only sheets are laid so; give sheet_length and sheet_width too", field=name)
    for name in ("stock_length", "lap"):
        if getattr(material, name) is not None and material.stock_width is None:
            yield ContentsError("only rolls and coils have it; give stock_width too", field=name)


def assembly_faults(assembly: Assembly) -> Iterable[CalculationError]:
    """A set-up without its trade, a trade or material twice, an off share without its wait, or for itself."""
    if (assembly.set_up_hours > 0) != (assembly.set_up_trade != ""):
        yield ContentsError("set-up hours need the trade that sets up, and the other way round", field="set_up_trade")
    yield from _twice("labour", "trade", [rate.trade for rate in assembly.labour])
    yield from _twice("materials", "material", [need.material for need in assembly.materials])
    if (assembly.off_share is None) != (not assembly.reset_after):
        yield ContentsError(
            "what comes off and goes back needs both its off_share and what it waits for (reset_after)",
            field="off_share",
        )
    if assembly.slug in (part for text in assembly.predecessors for part in text.split("|")):
        yield ContentsError("an assembly cannot wait for itself", field="predecessors", value=assembly.slug)


def _twice(path: str, name: str, slugs: list[str]) -> Iterable[CalculationError]:
    for index, slug in enumerate(slugs):
        if slug in slugs[:index]:
            yield ContentsError(f"{name} {slug} is in the list twice", field=f"{path}/{index}/{name}", value=slug)


def plan_faults(plan: ScopePlan) -> Iterable[CalculationError]:
    """A quantity of an assembly that is not in the plan."""
    for slug in plan.quantities:
        if slug not in plan.assemblies:
            yield ContentsError(f"{slug} is not among the plan's assemblies", field=f"quantities/{slug}", value=slug)


def condition_faults(condition: Condition) -> Iterable[CalculationError]:
    """A condition that excludes itself or follows what a whole quote does not have."""
    if condition.slug in condition.excludes:
        yield ContentsError("a condition cannot exclude itself", field="excludes", value=condition.slug)
    followed = MEASURES.get(condition.follows)
    if followed and (followed.combine == "none" or isinstance(followed.kind, Choice)):
        yield ContentsError(
            "expected a measure that the whole quote has: an amount, a count or yes/no",
            field="follows",
            value=condition.follows,
        )


def rule_faults(rule: PricingRule) -> Iterable[CalculationError]:
    """Tax rates where no tax is charged, and the other way round."""
    taxed = rule.tax_mode not in ("none", "lump_sum")
    if taxed and not rule.tax_rates:
        yield ContentsError(f"tax mode {rule.tax_mode} needs at least one tax rate", field="tax_rates")
    if not taxed and rule.tax_rates:
        yield ContentsError(f"tax mode {rule.tax_mode} charges no tax: leave the rates out", field="tax_rates")


def component_faults(component: Component) -> Iterable[CalculationError]:
    """A taken column, no repair, chances of never or always, a table that falls as damage grows."""
    if component.column not in COLUMNS:
        yield ContentsError(f"expected a free column: {', '.join(map(str, COLUMNS))}", field="column", value=component.column)
    if not any(repair.sign > 0 for repair in component.repairs):
        yield ContentsError("expected at least one assembly that repairs", field="repairs")
    for name in ("chance_mid", "share_mid"):
        if not 0 < getattr(component, name) < 1:
            yield ContentsError("expected a share between 0 and 1, both excluded", field=name)
    for construction, by_tier in component.table.items():
        yield from _rising(f"table/{construction}", by_tier, lambda pair: pair)


def tiers_faults(tiers: TierTable) -> Iterable[CalculationError]:
    """Shifts that fall as damage grows."""
    yield from _rising("chance_logit", tiers.chance_logit, lambda shift: (shift,))
    yield from _rising("share_logit", tiers.share_logit, lambda shift: (shift,))


def _rising(path: str, by_tier: Mapping[str, object], parts: Callable[..., tuple[float, ...]]) -> Iterable[CalculationError]:
    """A worse tier may never make a find rarer or smaller: contingency would fall as damage grows."""
    missing = [tier for tier in TIERS if tier not in by_tier]
    if missing:
        yield ContentsError(f"expected an entry for every tier: {', '.join(missing)} missing", field=path)
        return
    for milder, worse in pairwise(TIERS):
        if any(b < a for a, b in zip(parts(by_tier[milder]), parts(by_tier[worse]), strict=True)):
            yield ContentsError(f"{worse} must not be below {milder}", field=f"{path}/{worse}")
