"""The small invented roof of DEVELOPERS.md section 1 as an agreed job, for tests of what changes it."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from quotes.calc.change_order import AgreedRepair, Bought, JobTerms
from quotes.calc.quote import Quote
from tests.scenarios.small_roof import cost_base, quoted, severity

FRAME = AgreedRepair(
    slug="opening_frame",
    construction="framed",
    name="Frame at another opening",
    unit="each",
    unit_price=Decimal("87.711200"),
    set_up=Decimal("50.00"),
    labour_part=Decimal("80.000000"),
    material_part=Decimal("7.711200"),
    can_close_up=True,
    cost=Decimal("37.712000"),  # 0.8 h x 40 + 6 ft x 1.12 x 0.85
    set_up_cost=Decimal("20.00"),
    crew_hours=0.8,
    charged=False,
)


def terms(quote: Quote | None = None, *, rule: Mapping[str, Any] | None = None, **changes: Any) -> JobTerms:
    """What the job of the page brings to the pricing of a change, as agreed."""
    quote = quote or quoted()
    base = cost_base(severity())
    agreed = JobTerms(
        cost_base=replace(base, rule=replace(base.rule, **(rule or {}))),
        added=frozenset(),
        added_on="",
        sections=quote.measured.sections,
        whole=quote.measured.whole,
        sizes=quote.measured.sizes(),
        multipliers=quote.multipliers,
        quoted=frozenset(line.assembly for line in quote.visible.labour),
        carried=frozenset(line.assembly for line in quote.visible.labour),
        bought={line.packed.material.slug: Bought(line.packed.net, line.packed.billed) for line in quote.visible.materials},
        labour=quote.visible.labour_total,
        supplies=Decimal("60.00"),
        repairs={("opening_frame", "framed"): FRAME},
    )
    return replace(agreed, **changes)
