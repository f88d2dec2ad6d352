"""A quote that was kept, its inputs and the part of the cost base that it read, computes again to the cent."""

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings

from costbase.calc.contents import canonical_json, fingerprint, from_contents, to_contents
from costbase.calc.cost_base import CostBase
from quotes.calc.contingency import NO_HISTORY, CostFactors
from quotes.calc.frozen_base import part_read
from quotes.calc.inputs import QuoteInputs
from quotes.calc.options import offered
from quotes.calc.quote import Quote, compute_quote
from quotes.calc.severity import SeverityRules
from quotes.calc.survey import SURVEY_METHODS, CellMark
from quotes.exchange.frozen import factors_from_json, factors_to_json, inputs_from_json, inputs_to_json
from tests.calc.contingency_cases import points
from tests.calc.roofs import framed_28_ft, laminated_34_ft, span
from tests.calc.shipped_base import base_with, entries, framed, inputs, laminated, quoted, shipped, two_sections
from tests.calc.surveys import survey
from tests.calc.test_quote_properties import RECORDS, marked

KEPT = {
    "laminated": laminated(),
    "framed": framed(),
    "two sections": two_sections(),
    "reseal": inputs(laminated_34_ft(), plan="reseal"),
    "part": inputs(
        laminated_34_ft(), plan="partial-roof", scope=(span("main", 100, 300.3),), entered=entries({"dry_days": "2 day"})
    ),
}
RECORD = CostFactors(0.031, 0.0173, 0.117, 1.083, 0.0911)


def again(wanted: QuoteInputs, base: CostBase, record: CostFactors, first: Quote) -> Quote:
    """The same quote from JSON text alone: the inputs, the record, and the part of the cost base that it read."""
    texts = [
        json.dumps(inputs_to_json(wanted)),
        canonical_json(to_contents(part_read(base, wanted, first))),
        json.dumps(factors_to_json(record)),
    ]
    kept = from_contents(json.loads(texts[1]))
    rules = SeverityRules.from_contents(kept.severity.contents)
    return compute_quote(inputs_from_json(json.loads(texts[0])), kept, rules, factors_from_json(json.loads(texts[2])), points())


@pytest.mark.parametrize("name", sorted(KEPT))
@pytest.mark.parametrize("basis", ["firm", "open"])
def test_a_kept_quote_computes_again_to_the_cent(name: str, basis: str) -> None:
    wanted = KEPT[name]
    base = base_with(wanted.plan, rule={"price_basis": basis})
    first = quoted(wanted, base, RECORD)
    second = again(wanted, base, RECORD, first)

    assert second == first


def test_what_ticking_an_option_changes_computes_again_from_what_was_kept() -> None:
    wanted = replace(
        laminated(),
        entered=(*laminated().entered, *entries({"paint_job_count": "1 each", "solar_prep_count": "2 each"})),
        offered=("paint-match", "solar-prep"),
    )
    base = shipped()
    kept = from_contents(json.loads(canonical_json(to_contents(part_read(base, wanted, quoted(wanted))))))
    rules = SeverityRules.from_contents(kept.severity.contents)
    first, second = (offered(wanted, one, rules, RECORD, points(), quoted(wanted, one, RECORD)) for one in (base, kept))

    assert first == second
    assert inputs_from_json(json.loads(json.dumps(inputs_to_json(wanted)))) == wanted


def test_inputs_that_were_kept_before_options_were_offered_offer_none() -> None:
    old = inputs_to_json(laminated())
    del old["offered"]

    assert inputs_from_json(old) == laminated()


@pytest.mark.parametrize("name", sorted(KEPT))
def test_what_is_kept_is_only_what_was_read(name: str) -> None:
    wanted, base = KEPT[name], shipped(KEPT[name].plan)
    kept = part_read(base, wanted, quoted(wanted))

    assert len(kept.materials) < len(base.materials)
    assert set(kept.prices) == set(kept.materials)
    # The same part is read from the part: its fingerprint stands for the quote.
    assert fingerprint(part_read(kept, wanted, quoted(wanted, kept))) == fingerprint(kept)


@settings(max_examples=40, deadline=None)
@given(marked(), RECORDS)
def test_any_kept_survey_computes_again_to_the_cent(
    roof_and_rest: tuple[QuoteInputs, tuple[CellMark, ...]], record: CostFactors
) -> None:
    wanted, _ = roof_and_rest
    base = shipped(wanted.plan)
    first = quoted(wanted, base, record)

    assert again(wanted, base, record, first).totals == first.totals


@pytest.mark.parametrize("method", SURVEY_METHODS)
def test_a_quote_is_the_same_at_every_computing(method: str) -> None:
    wanted = inputs(framed_28_ft(), plan="skin-over-kept-deck", skin="membrane", survey=survey(method=method))

    assert quoted(wanted) == quoted(wanted)
    assert quoted(wanted, None, NO_HISTORY).set_aside.atoms == quoted(wanted).set_aside.atoms
