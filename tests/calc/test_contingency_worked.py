"""Worked quotes, to the cent, and the slow version of the same."""

from decimal import Decimal

import numpy as np
import pytest

from quotes.calc.contingency import (
    NO_HISTORY,
    CostFactors,
    Exposure,
    explain_set_aside,
    forget_columns,
    found_column,
    hidden_work,
    level_rank,
)
from quotes.calc.contingency.columns import find_scale
from tests.calc.contingency_cases import FRAMED, GOLDEN, LAMINATED, USD, part, points, quoted
from tests.oracles import contingency as oracle

SHOP = CostFactors(theta=0.05, sd_theta=0.04, sigma=0.15, find_factor=1.2, sd_find=0.2)


def test_the_golden_quote_in_the_open_basis() -> None:
    # Published with the model: base_expected, allowance, reserve, P50, P80, P90; its ceiling 16314.43 is the
    # sum before rounding, ours the sum of rounded amounts.
    quote = quoted(GOLDEN, basis="open")
    assert quote.base_expected == Decimal("12590.32")
    assert quote.record_difference == Decimal("90.32")
    assert quote.allowance == Decimal("1805.16")
    assert quote.reserve == Decimal("1918.94")
    assert quote.contingency == Decimal("3724.10")
    assert quote.limit == Decimal("16314.42")
    assert (quote.p50, quote.p80, quote.p90) == (Decimal("13970.55"), Decimal("16314.43"), Decimal("17880.72"))


def test_the_golden_quote_in_the_firm_basis() -> None:
    quote = quoted(GOLDEN, basis="firm")
    assert quote.allowance == Decimal("1792.21")
    assert quote.contingency == Decimal("3164.19")
    assert quote.reserve == Decimal("1371.98")
    assert quote.limit == Decimal("15664.19")
    assert round(quote.chance_nothing_found, 4) == 0.1379
    assert quote.record_difference == Decimal("90.32")
    # The forecast of the final cost is with productivity in either basis.
    assert quote.p80 == Decimal("16314.43")


def test_the_golden_quote_has_the_published_order_statistics_of_hidden_work() -> None:
    work = hidden_work(points(), GOLDEN, NO_HISTORY)
    assert round(work.mean, 2) == 1792.21
    assert [round(work.at_level(level), 2) for level in (0.5, 0.8, 0.9)] == [1188.01, 3164.19, 4555.34]


def test_the_golden_mean_is_near_its_exact_value() -> None:
    # Sum of chance x share x amount: 374 + 680.40 + 316.25 + 122.50 + 183.60 + 115.20 = 1791.95.
    assert hidden_work(points(), GOLDEN, NO_HISTORY).mean == pytest.approx(1791.95, rel=2e-4)


def test_a_laminated_roof_rebuilt_is_quoted_to_the_cent() -> None:
    quote = quoted(LAMINATED, base="29912.27")
    assert (quote.allowance, quote.contingency) == (Decimal("2038.10"), Decimal("3644.71"))
    assert quote.limit == Decimal("33556.98")
    assert round(quote.chance_nothing_found, 4) == 0.1748
    # The captive nuts come to 112.76 by themselves; the largest remainder takes the cent that the sum has
    # too many.
    assert [str(row.allowance) for row in quote.components] == [
        "0.00", "157.14", "428.08", "941.85", "263.67", "0.00", "43.90", "112.75", "90.71",
    ]  # fmt: skip


def test_a_framed_roof_with_a_new_membrane_is_quoted_to_the_cent() -> None:
    quote = quoted(FRAMED, base="14153.00")
    assert (quote.allowance, quote.contingency) == (Decimal("2259.35"), Decimal("3857.56"))
    assert quote.limit == Decimal("18010.56")
    assert round(quote.chance_nothing_found, 4) == 0.1262
    assert [str(row.allowance) for row in quote.components] == [
        "325.63", "27.64", "271.42", "55.07", "861.74", "263.07", "130.26", "181.16", "83.21", "60.15",
    ]  # fmt: skip


def test_a_component_found_whole_costs_its_set_up_only_when_it_is_found() -> None:
    # Chance .5 x share .5: found at a quarter of the points, 2 x 100 + 40 = 240 each time, so 60 on average.
    frames = part("ac_frame", 9, exposure=2.0, unit_price="100", set_up="40", chance=0.5, share=0.5, each=True)
    work = hidden_work(points(), [frames], NO_HISTORY)
    assert set(work.ordered.tolist()) == {0.0, 240.0}
    assert work.mean == pytest.approx(60.0, rel=0.01)
    assert work.chance_nothing == pytest.approx(0.75, abs=0.002)


def test_one_component_may_stand_in_two_constructions_with_one_column() -> None:
    # Same column, so the two are found at the same points wherever the less likely one is.
    parts = [
        part("deck", 1, exposure=100.0, unit_price="10", chance=0.5),
        part("deck", 1, exposure=50.0, unit_price="20", chance=0.3),
    ]
    work = hidden_work(points(), parts, NO_HISTORY)
    assert work.chance_nothing == pytest.approx(0.5, abs=0.002)
    assert len(quoted(parts).components) == 2


def test_the_rank_of_a_level_is_the_first_that_covers_it() -> None:
    # 0.8 x 4096 = 3276.8 -> 3277; 0.5 x 4096 = 2048 exactly; 0.99 x 4096 = 4055.04 -> 4056.
    assert [level_rank(level, 4096) for level in (0.5, 0.8, 0.99)] == [2048, 3277, 4056]


@pytest.mark.parametrize(("parts", "base"), [(GOLDEN, 12500.0), (LAMINATED, 29912.27), (FRAMED, 14153.0)])
def test_a_quote_equals_the_brute_force_one_within_the_error_of_the_table(parts: list[Exposure], base: float) -> None:
    slow = oracle.firm_quote(points().scores, parts, NO_HISTORY, base=base, level=0.8)
    quote = quoted(parts, base=str(base))
    # Straight lines over the steep last of 512 steps lift the mean by a forty-hundredth of a percent.
    assert float(quote.allowance) == pytest.approx(slow.allowance, rel=5e-4)
    assert float(quote.contingency) == pytest.approx(slow.contingency, rel=5e-5)
    assert float(quote.limit) == pytest.approx(slow.limit, rel=1e-5)
    assert quote.chance_nothing_found == slow.chance_nothing_found


@pytest.mark.parametrize("factors", [NO_HISTORY, SHOP])
def test_hidden_work_equals_the_slow_table_at_every_point(factors: CostFactors) -> None:
    parts = [*FRAMED[2:5], FRAMED[6], FRAMED[9]]
    slow = oracle.hidden_amounts(points().scores, parts, factors, oracle.inverse_beta_by_nodes)
    work = hidden_work(points(), parts, factors)
    assert np.allclose(work.ordered, sorted(slow), rtol=1e-9, atol=1e-9)


def test_an_open_quote_of_a_shop_with_a_record_equals_the_brute_force_one() -> None:
    quote = quoted(FRAMED, basis="open", level=0.9, base="14153.00", factors=SHOP, sd_survey=0.08)
    slow = oracle.open_quote(quote.atoms, SHOP, base=14153.0, level=0.9, sd_survey=0.08)
    assert float(quote.base_expected) == pytest.approx(slow.base_expected, abs=0.006)
    assert float(quote.allowance) == pytest.approx(slow.allowance, abs=0.006)
    assert float(quote.contingency) == pytest.approx(slow.contingency, abs=0.006)


def test_the_atoms_are_means_of_runs_of_thirty_two() -> None:
    work = hidden_work(points(), GOLDEN, NO_HISTORY)
    ordered = work.ordered.tolist()
    slow = [sum(ordered[first : first + 32]) / 32 for first in range(0, 4096, 32)]
    assert len(work.atoms()) == 128
    assert work.atoms() == pytest.approx(slow, rel=1e-12)


def test_a_quote_is_the_same_bit_for_bit_with_and_without_the_memo() -> None:
    first = quoted(LAMINATED, base="29912.27")
    forget_columns()
    assert quoted(LAMINATED, base="29912.27") == first


def test_the_find_factor_never_finds_more_than_there_is() -> None:
    wide = CostFactors(theta=0.0, sd_theta=0.0, sigma=0.12, find_factor=2.5, sd_find=0.5)
    column = found_column(points(), GOLDEN[0], find_scale(points(), wide))
    assert column.share.max() == 1.0
    assert column.chance_found == pytest.approx(0.5, abs=0.002)


def test_the_explanation_lands_on_the_quoted_amounts() -> None:
    steps = explain_set_aside(
        points(),
        GOLDEN,
        basis="firm",
        level=0.8,
        base=Decimal("12500"),
        factors=NO_HISTORY,
        sd_survey=0.0,
        currency=USD,
    )
    assert steps.result == quoted(GOLDEN)
    assert (steps.points, steps.rank, steps.decided_by) == (4096, 3277, "level")
    assert (steps.mean, steps.at_level) == (Decimal("1792.21"), Decimal("3164.19"))
    assert steps.share_within == 3277 / 4096
    deck = steps.components[0]
    # 0.5 x 0.22 x 1 x 3400 = 374.00; the sample has 374.13.
    assert (deck.exact_expected, deck.sample_expected) == (Decimal("374.00"), Decimal("374.13"))
    assert deck.chance_found == 0.5
    assert deck.sample_chance_found == pytest.approx(0.5, abs=0.002)
    assert sum(row.allowance for row in steps.components) == Decimal("1792.21")


def test_the_explanation_of_an_open_quote_tells_productivity() -> None:
    steps = explain_set_aside(
        points(),
        FRAMED,
        basis="open",
        level=0.8,
        base=Decimal("14153"),
        factors=NO_HISTORY,
        sd_survey=0.0,
        currency=USD,
        corrected_level=0.85,
    )
    # exp(0.12^2 / 2) = exp(0.0072) = 1.007226.
    assert steps.factor == pytest.approx(1.007226, abs=1e-6)
    assert (steps.rank, steps.level_used, steps.result.level) == (None, 0.85, 0.8)
    frame = steps.components[6]
    # Found whole: expit(logit(.3) - .18) x expit(logit(.75) - .08) = .26360831 x .7347022 = .193674; x
    # (519.462 + 150).
    assert frame.chance_found == pytest.approx(0.193674, abs=1e-6)
    assert frame.exact_expected == Decimal("129.66")


def test_a_mean_above_the_level_is_the_contingency_and_leaves_no_reserve() -> None:
    # Found at one point in twenty: the 80 % order statistic is 0, the mean 0.05 x 0.22 x 100 x 18 = 19.80.
    rare = [part(chance=0.05)]
    steps = explain_set_aside(
        points(),
        rare,
        basis="firm",
        level=0.8,
        base=Decimal("9000"),
        factors=NO_HISTORY,
        sd_survey=0.0,
        currency=USD,
    )
    assert steps.decided_by == "mean"
    assert steps.at_level == 0
    assert steps.result.reserve == 0
    assert steps.result.contingency == steps.result.allowance
    assert float(steps.result.allowance) == pytest.approx(19.80, rel=0.02)
