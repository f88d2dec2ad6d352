"""Visible work of the laminated sample coach at any size equals the obvious arithmetic."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.contingency import NO_HISTORY, SamplePoints, shipped_points
from quotes.calc.inputs import QuoteInputs
from quotes.calc.quote import compute_quote
from quotes.calc.severity import SeverityRules
from tests.benchmarks.sized_coach import GOODS, MARKUP, POINTS_FILE, RATES, base, inputs
from tests.oracles.plain_quote import Size, visible_work

POINTS: SamplePoints = shipped_points(np.load(POINTS_FILE))
RULES = SeverityRules.from_contents(base().severity.contents)


def worked(wanted: QuoteInputs) -> float:
    return float(compute_quote(wanted, base(), RULES, NO_HISTORY, POINTS).totals.base)


def test_the_sample_coach_is_the_published_figure_both_ways() -> None:
    size = Size(408, 96, 1.5, 4, 1.5)
    # 29912.27, as in the example quote of the 34 ft laminated coach.
    assert math.isclose(visible_work(size, RATES, GOODS, MARKUP), 29912.27, abs_tol=0.005)
    assert worked(inputs(size)) == 29912.27


@settings(max_examples=25, deadline=None)
@given(
    st.builds(
        Size,
        length=st.integers(384, 480).map(float),
        width=st.sampled_from([92.0, 94.0, 96.0, 98.0, 101.0]),
        crown=st.sampled_from([0.5, 1.0, 1.5, 2.25, 3.0]),
        radius=st.sampled_from([2.0, 3.0, 4.0, 6.0]),
        tuck=st.sampled_from([0.5, 1.0, 1.5, 2.0]),
    )
)
def test_any_size_of_it_equals_the_obvious_arithmetic(size: Size) -> None:
    # Floats and Decimals can part by a cent where a line falls on half a cent; a wrong formula is dollars off.
    assert math.isclose(worked(inputs(size)), visible_work(size, RATES, GOODS, MARKUP), abs_tol=0.05)
