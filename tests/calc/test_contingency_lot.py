"""Several coaches that share their wetness: against a simulation of independent draws, and what must hold of any lot."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import permutations

import numpy as np
import pytest

from costbase.calc.errors import CalculationFaults
from quotes.calc.contingency import (
    NO_HISTORY,
    CostFactors,
    Exposure,
    ExposureError,
    LotError,
    SetAside,
    hidden_work,
    lot_hidden_work,
    lot_set_aside,
)
from quotes.calc.contingency.lot import other_rows
from tests.calc.contingency_cases import FRAMED, GOLDEN, LAMINATED, USD, part, points, quoted
from tests.oracles.lot import exact_mean, simulated_lot

Coaches = Sequence[Sequence[Exposure]]
CASES: dict[str, Coaches] = {
    "two laminated": [LAMINATED] * 2,
    "three framed": [FRAMED] * 3,
    "ten of the model's own": [GOLDEN] * 10,
    "five, of two constructions": [LAMINATED, FRAMED, FRAMED, LAMINATED, FRAMED],
    "fifty framed": [FRAMED] * 50,
}


def set_aside(
    coaches: Coaches, *, basis: str = "firm", level: float = 0.8, factors: CostFactors = NO_HISTORY, base: str = "12500"
) -> SetAside:
    """The lot's, each coach having visible work of this much."""
    asides = [quoted(list(parts), basis=basis, level=level, factors=factors, base=base) for parts in coaches]
    return lot_set_aside(
        points(),
        coaches,
        asides,
        basis=basis,
        level=level,
        base=Decimal(base) * len(coaches),
        factors=factors,
        sd_survey=0.0,
        currency=USD,
    )


class TestAgainstIndependentDraws:
    @pytest.mark.parametrize("coaches", CASES.values(), ids=CASES.keys())
    def test_the_mean_is_within_a_thousandth_and_the_levels_within_about_a_hundredth(self, coaches: Coaches) -> None:
        work = lot_hidden_work(points(), coaches, NO_HISTORY)
        # Of 1,000,000 / n draws the 80 % point is good to about two in a thousand.
        drawn = simulated_lot(coaches, draws=1_000_000 // max(4, len(coaches)), seed=20260525)

        assert work.mean == pytest.approx(sum(exact_mean(parts) for parts in coaches), rel=0.001)
        for level in (0.8, 0.9):
            assert work.at_level(level) == pytest.approx(float(np.quantile(drawn, level)), rel=0.015)
        assert work.ordered.std() == pytest.approx(drawn.std(), rel=0.02)

    @pytest.mark.parametrize("parts", [GOLDEN, LAMINATED, FRAMED], ids=["golden", "laminated", "framed"])
    def test_each_of_fifty_coaches_keeps_its_mean_to_two_in_a_thousand(self, parts: list[Exposure]) -> None:
        alone = hidden_work(points(), parts, NO_HISTORY).mean

        work = lot_hidden_work(points(), [parts] * 50, NO_HISTORY)

        assert work.means[0] == pytest.approx(alone, rel=1e-12)
        assert max(abs(mean / alone - 1) for mean in work.means) < 0.002
        assert work.mean / 50 == pytest.approx(alone, rel=0.0005)

    def test_given_the_wetness_no_two_of_fifty_coaches_follow_each_other(self) -> None:
        # Of 4096 pairs drawn by chance the correlation would have a spread of 1 / 64 = 0.0156, and the largest of 1225 of them
        # would be about 0.055. One affine map of the row numbers, which was tried and rejected, gives 1.
        for column in (1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 13):
            own = points().scores[:, column]
            scores = np.vstack([own, *(own[other_rows(points(), turn)] for turn in range(1, 50))])
            correlation = np.corrcoef(scores)[np.triu_indices(50, 1)]

            assert abs(correlation).max() < 0.12
            assert np.sqrt((correlation**2).mean()) < 0.025


class TestOtherRows:
    def test_each_coach_uses_every_row_once(self) -> None:
        for turn in (1, 2, 49):
            assert sorted(other_rows(points(), turn).tolist()) == list(range(4096))

    def test_in_any_place_all_fifty_coaches_have_different_rows(self) -> None:
        rows = np.array([np.arange(4096), *(other_rows(points(), turn) for turn in range(1, 50))])

        assert all(len(set(column)) == 50 for column in rows.T.tolist())

    def test_neither_seed_nor_library_moves_a_row(self) -> None:
        # The second coach, in words: to the 64 driest rows go the 64 next ones, by the fraction of (row + 1) x root of 2.
        wetness = points().scores[:, 0]
        ranks = np.empty(4096, dtype=int)
        ranks[np.argsort(wetness)] = np.arange(4096)
        second = [row for row in range(4096) if 64 <= ranks[row] < 128]
        by_fraction = sorted(second, key=lambda row: ((row + 1) * 2**0.5) % 1)
        first = [row for row in range(4096) if ranks[row] < 64]

        assert other_rows(points(), 1)[first].tolist() == by_fraction


class TestOneCoach:
    @pytest.mark.parametrize("basis", ["firm", "open"])
    @pytest.mark.parametrize("parts", [GOLDEN, LAMINATED, FRAMED], ids=["golden", "laminated", "framed"])
    def test_a_lot_of_one_is_the_quote_of_that_coach(self, parts: list[Exposure], basis: str) -> None:
        alone = quoted(parts, basis=basis)

        assert set_aside([parts], basis=basis) == replace(alone, components=())


class TestSeveral:
    @pytest.mark.parametrize("basis", ["firm", "open"])
    @pytest.mark.parametrize("coaches", CASES.values(), ids=CASES.keys())
    def test_the_allowance_is_the_sum_and_the_contingency_less_than_it(self, coaches: Coaches, basis: str) -> None:
        asides = [quoted(list(parts), basis=basis) for parts in coaches]

        lot = set_aside(coaches, basis=basis)

        assert lot.allowance == sum(aside.allowance for aside in asides)
        assert lot.allowance <= lot.contingency < sum(aside.contingency for aside in asides)
        assert lot.limit == lot.contingency + (lot.base_expected if basis == "open" else 12500 * len(coaches))

    def test_where_wetness_is_all_nothing_evens_out(self) -> None:
        # Load 1: every coach finds the same at every point, so the lot's amount is three times a coach's.
        wet = [replace(each, load=1.0) for each in LAMINATED]

        lot, alone = set_aside([wet] * 3), quoted(wet)

        assert lot.contingency == pytest.approx(3 * alone.contingency, abs=Decimal("0.02"))

    def test_the_more_of_it_is_wetness_the_less_evens_out(self) -> None:
        levels = [set_aside([[replace(each, load=load) for each in FRAMED]] * 10).contingency for load in (0.0, 0.3, 0.6, 0.9)]

        assert levels == sorted(levels)

    def test_where_little_is_likely_the_lot_needs_more_than_its_coaches_together(self) -> None:
        # One part found on one coach in ten: alone nothing at the 80 % point, so 0.1 x 1000 is set aside. Of ten such coaches
        # some part is found more often than not, 1 - 0.9 ** 10 = 0.65, and two or fewer are found in 0.93 of the lots, one or
        # none in 0.74: the 80 % point is two parts, twice what the ten coaches set aside together.
        rare = [part("wiring", 12, exposure=1.0, unit_price="1000", chance=0.2, share=0.5, load=0.0, each=True)]

        lot = set_aside([rare] * 10)

        assert quoted(rare).contingency == pytest.approx(Decimal("100"), abs=Decimal("0.2"))
        assert lot.contingency == Decimal("2000.00")

    def test_the_limit_never_falls_with_the_level(self) -> None:
        limits = [set_aside([LAMINATED, FRAMED, FRAMED], level=level).limit for level in (0.5, 0.7, 0.8, 0.9, 0.95, 0.99)]

        assert limits == sorted(limits)
        assert len(set(limits)) == len(limits)

    def test_the_order_of_the_coaches_does_not_matter(self) -> None:
        wetter = [replace(each, chance=min(0.9, each.chance * 1.3)) for each in FRAMED]

        found = {set_aside(order).limit for order in permutations([LAMINATED, FRAMED, wetter])}

        assert len(found) == 1

    def test_a_coach_that_hides_nothing_adds_nothing(self) -> None:
        dry = [replace(each, exposure=0.0) for each in FRAMED]

        assert set_aside([LAMINATED, FRAMED, dry]).contingency == set_aside([LAMINATED, FRAMED]).contingency

    def test_the_doubt_about_the_shop_s_record_is_one_for_all_coaches(self) -> None:
        # A spread of 0.5 about the find factor does not even out: per coach it moves the 90 % point of fifty as far as of two.
        doubtful = replace(NO_HISTORY, sd_find=0.5)
        more = {
            n: set_aside([GOLDEN] * n, level=0.9, factors=doubtful).contingency / set_aside([GOLDEN] * n, level=0.9).contingency
            for n in (2, 50)
        }

        assert more[50] > more[2] > 1

    def test_the_share_of_lots_that_stay_inside_is_at_least_the_level(self) -> None:
        assert set_aside([LAMINATED] * 5, level=0.9).coverage_share >= 0.9


class TestRefused:
    def test_no_coach_or_too_many(self) -> None:
        for coaches in ([], [GOLDEN] * 51):
            with pytest.raises(LotError, match="expected 1 to 50 coaches"):
                lot_hidden_work(points(), coaches, NO_HISTORY)

    def test_every_wrong_number_of_every_coach_at_once(self) -> None:
        with pytest.raises(CalculationFaults) as refused:
            lot_hidden_work(points(), [[part(chance=1.5)], [part(phi=-1.0)]], NO_HISTORY)

        assert [fault.field for fault in refused.value.faults] == ["coaches/0/exposures/0/chance", "coaches/1/exposures/0/phi"]
        assert all(isinstance(fault, ExposureError) for fault in refused.value.faults)
