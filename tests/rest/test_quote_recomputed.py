"""Does a stored quote, worked out again from nothing but its own row and cost base, come to the same amounts?"""

from decimal import Decimal
from typing import Any

import pytest

from costbase import snapshot as cost_base_snapshot
from quotes import snapshot as quotes_snapshot
from quotes.actions.quote_rows import component_rows, line_rows
from quotes.models import Quote
from quotes.reports.quotes import stored_components, stored_lines, worked_again
from tests.rest import bodies
from tests.rest.quoting import Body, Clock, Quoting, entry

AMOUNTS = (
    "cost", "base", "record", "allowance", "reserve", "contingency", "limit", "base_with_tax", "limit_with_tax",
)  # fmt: skip
NUMBERS = {
    *("quantity", "price", "amount", "cost", "exposure", "unit_price", "set_up", "labour_part", "material_part"),
    "allowance",
}


def marked(quoting: Quoting) -> Body:
    cells = [bodies.cell(f"{row}{lane}", "rotten") for row in (3, 4) for lane in "ABCD"]
    cells += [bodies.cell("9A", "damp"), bodies.cell("1A", "sound", method="opened")]
    findings = [{"kind": "soft_underfoot", "place": "cell 3D", "section": "main", "extent": "3/16 in"}]
    survey = quoting.add_survey(quoting.coach, cells=cells, findings=findings)
    return quoting.body(survey=survey, plan="skin-over-kept-deck", measures=[])


def full(quoting: Quoting) -> Body:
    return quoting.body(
        plan="partial-roof",
        scope=[{"section": "main", "start": "3 ft 4-1/2 in", "end": "9.1 m"}],
        options=["paint-match"],
        conditions=[{"condition": "no-bay", "reason": "Full."}, {"condition": "hot-roof", "reason": "August."}],
        measures=[entry("paint_job_count", 1), entry("old_bead_length", "33' 7\"")],
        tier={"tier": "frame", "reason": "Seen from the inside."},
        days={"low": 10, "high": 14, "reason": "A second crew."},
    )


def open_basis(quoting: Quoting) -> Body:
    quoting.own_edition(
        "rule",
        "standard",
        price_basis="open",
        overhead_share="0.08",
        supplies_share="0.03",
        tax_mode="parts_and_labour",
        tax_rates=[{"name": "state", "rate": "0.0825"}],
        total_step="1",
        stock_billing="use",
        confidence_level=0.9,
    )
    return quoting.body(skin="membrane")


def sections(quoting: Quoting) -> Body:
    raised = bodies.section(
        label="raised", kind="raised", construction="framed", core_thickness="0 in", length="8 ft", openings=[], attachments=[]
    )
    joints = [{"kind": "step", "front": "main", "rear": "raised"}]
    coach = quoting.add_coach(bodies.coach(plate="INV 2", roof=bodies.roof(bodies.section(), raised, joints=joints)))
    return quoting.body(coach=coach, survey=quoting.add_survey(coach, method="photographs"), measures=[])


def reseal(quoting: Quoting) -> Body:
    return quoting.body(plan="reseal", measures=[])


@pytest.mark.parametrize("body", [Quoting.body, Quoting.framed_body, marked, full, open_basis, sections, reseal])
def test_it_does_to_the_cent_line_by_line(quoting: Quoting, clock: Clock, body: Any) -> None:
    posted = quoting.posted(body(quoting)).json()
    # Later, in another process, under other prices.
    quoting.own_edition("rate", "technician", billed_per_hour="500.00")
    clock.turn(days=400)
    cost_base_snapshot.forget()
    quotes_snapshot.forget()

    with quoting.office.scope():
        quote = Quote.objects.for_shop(quoting.shop).get(pk=posted["id"])
        again = worked_again(quote).quote
        lines, components = stored_lines(quoting.shop, quote.pk), stored_components(quoting.shop, quote.pk)

    for name in AMOUNTS:
        assert getattr(again.totals, name) == getattr(quote, name) == Decimal(posted["amounts"][name]), name
    assert exact(line_rows(again)) == exact(lines)
    assert exact(component_rows(again)) == exact(components)
    assert list(again.set_aside.atoms) == quote.atoms
    assert (again.severity.tier, again.provisional) == (quote.tier, quote.provisional)


def exact(rows: list[Body]) -> list[Body]:
    """Rows with every number as a number, whether it came from JSON or from a column."""
    return [{name: Decimal(value) if name in NUMBERS else value for name, value in row.items()} for row in rows]
