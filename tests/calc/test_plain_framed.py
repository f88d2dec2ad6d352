"""Visible work of the framed sample coach, at any size and any share of its deck, equals the obvious arithmetic."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.inputs import Entered, QuoteInputs
from tests.calc.roofs import framed_28_ft
from tests.calc.shipped_base import FRAMED_SAYS, entries, inputs, quoted, shipped
from tests.oracles.plain_framed import Shares, framed_works
from tests.oracles.plain_quote import Bought, Size, priced

INCH = 254.0
PLAN = "skin-over-kept-deck"
RATES = {slug: float(trade.billed_per_hour) for slug, trade in shipped(PLAN).trades.items()}
GOODS = {
    slug: Bought(
        float(shipped(PLAN).prices[slug].pack_price),
        float(goods.pack_size),
        float(goods.waste_share),
        goods.sold_by == "measure",
    )
    for slug, goods in shipped(PLAN).materials.items()
}


def wanted(size: Size, shares: Shares) -> QuoteInputs:
    """The framed coach in another size, with other shares of its deck."""
    sample = framed_28_ft()
    section = replace(
        sample.sections[0],
        length=size.length * INCH,
        body_width=size.width * INCH,
        crown_rise=size.crown * INCH,
        edge_radius=size.radius * INCH,
        tuck=size.tuck * INCH,
    )
    said = {"deck_replaced_share": shares.replaced, "splinter_share": shares.splinters}
    others = {slug: text for slug, text in FRAMED_SAYS.items() if slug not in said}
    own = tuple(Entered(slug, "main", share, f"{share} share", "") for slug, share in said.items())
    return inputs(replace(sample, sections=(section,)), plan=PLAN, skin="membrane", entered=(*entries(others), *own))


def test_the_sample_coach_is_the_published_figure_both_ways() -> None:
    # 14153.00, as in the example quote of the 28 ft framed coach.
    size, shares = Size(336, 98, 1.5, 2, 1.5), Shares(0.15, 0.2)

    assert priced(framed_works(size, shares), RATES, GOODS, 0.35) == pytest.approx(14153.00, abs=0.005)
    assert str(quoted(wanted(size, shares)).totals.base) == "14153.00"


@settings(max_examples=60, deadline=None)
@given(
    st.builds(
        Size,
        length=st.integers(336, 480).map(float),
        width=st.integers(92, 102).map(float),
        crown=st.integers(2, 12).map(lambda quarter: quarter / 4),
        radius=st.integers(0, 6).map(float),
        tuck=st.integers(0, 8).map(lambda quarter: quarter / 4),
    ),
    st.builds(
        Shares,
        replaced=st.integers(0, 100).map(lambda percent: percent / 100),
        splinters=st.integers(0, 100).map(lambda percent: percent / 100),
    ),
)
def test_any_size_and_any_share_of_it_equals_the_obvious_arithmetic(size: Size, shares: Shares) -> None:
    # Floats and Decimals can part by a cent where a line falls on half a cent; a wrong formula is dollars off.
    plain = priced(framed_works(size, shares), RATES, GOODS, 0.35)

    assert float(quoted(wanted(size, shares)).totals.base) == pytest.approx(plain, abs=0.05)
