"""What an open roof says about what is still closed: by hand, beside the slow way, and what must always hold."""

import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.errors import CalculationError
from quotes.calc.contingency import NO_HISTORY, CostFactors, Exposure, expected_factor, find_scale, found_column
from quotes.calc.teardown import Opened, Update, update
from tests.calc.contingency_cases import FRAMED, GOLDEN, LAMINATED, part, points, quoted
from tests.calc.teardown_cases import TENTHS, after, terms
from tests.oracles import teardown as slow

D = Decimal
RECORD = CostFactors(theta=0.05, sd_theta=0.04, sigma=0.15, find_factor=1.2, sd_find=0.1)


@pytest.mark.parametrize("factors", [NO_HISTORY, RECORD], ids=["no history", "a record"])
@pytest.mark.parametrize("parts", [GOLDEN, LAMINATED, FRAMED], ids=["golden", "laminated", "framed"])
@pytest.mark.parametrize("basis", ["firm", "open"])
def test_with_nothing_opened_the_forecast_is_the_quote(basis: str, parts: list[Exposure], factors: CostFactors) -> None:
    quote = quoted(parts, basis=basis, factors=factors, sd_survey=0.05)
    on = terms(parts, basis=basis, factors=factors, sd_survey=0.05)
    now = after(parts, on=on)

    assert (now.method, now.effective, now.found) == ("points", 4096.0, 0.0)
    allowance = now.left * (expected_factor(factors) if basis == "open" else 1.0)
    assert _cents(allowance) == quote.allowance
    assert [_cents(amount) for amount in (now.p50, now.p80, now.p90)] == [quote.p50, quote.p80, quote.p90]
    # Of an open quote the limit itself is rounded to the cent, which moves its chance in the seventh digit.
    rounding = 0.0 if basis == "firm" else 1e-6
    assert 1 - now.chance_over_limit == pytest.approx(quote.coverage_share, rel=0, abs=rounding)
    whole = sum(float(row.allowance) for row in quote.components)
    assert sum(row.expected_left for row in now.closed) == pytest.approx(now.left, rel=1e-12)
    assert sum(row.expected_left for row in now.closed) == pytest.approx(whole / _productivity(basis, factors), abs=0.01)


def _productivity(basis: str, factors: CostFactors) -> float:
    return expected_factor(factors) if basis == "open" else 1.0


def _cents(amount: float) -> Decimal:
    return D(math.floor(amount * 100 + 0.5)) / 100


def test_looks_at_nothing_are_no_looks() -> None:
    assert after(FRAMED, Opened(0, 0.0, 0.0), Opened(4, 0.0, 0.0)) == after(FRAMED)


def frame(**changes: object) -> Exposure:
    """Section 1 of DEVELOPERS.md: one frame, rotten at 1,229 of 4,096 points, 87.711200 and a set-up of 50.00."""
    one = part(
        "opening_frame", 10, exposure=1.0, unit_price="87.711200", set_up="50.00", chance=0.6, share=0.5, load=0.0, each=True,
        patch=1.0,
    )  # fmt: skip
    return replace(one, **changes)  # type: ignore[arg-type]


def test_a_frame_that_is_found_rotten_is_worked_by_hand() -> None:
    on = replace(terms([frame()], base="3491.79"), pot=D("137.71"))
    now = after([frame()], Opened(0, 1.0, 1.0), on=on)

    # 87.7112 + 50.00 = 137.7112; nothing is left, and the pot of 137.71 is not passed by a fifth of a cent.
    assert now.found == pytest.approx(137.7112, rel=1e-15)
    assert (now.left, now.chance_over_pot) == (0.0, 0.0)
    # (3491.79 + 137.7112) x exp(0.12^2 / 2) = 3629.5012 x 1.00722597 = 3655.7279
    assert now.expected == pytest.approx(3655.7279, abs=0.0001)
    # One log-normal round 3629.5012: the median is itself, P80 x exp(0.12 x 0.8416212) = x 1.1062706 = 4015.2105.
    assert now.p50 == pytest.approx(3629.5012, abs=0.0001)
    assert now.p80 == pytest.approx(4015.2105, abs=0.001)
    (row,) = now.closed
    assert row.found_amount == now.found
    assert (row.opened, row.found, row.left, row.chance_left, row.expected_left) == (1.0, 1.0, 0.0, 0.0, 0.0)


def test_one_sound_frame_of_two_leaves_a_chance_of_one_in_a_thousand_that_the_other_is_rotten() -> None:
    two = frame(exposure=2.0)
    now = after([two], Opened(0, 1.0, 0.0), on=terms([two]))

    # Both are rotten at 1,229 points or none is; a sound one weighs these 0.001: 1229 x 0.001 / (1229 x 0.001 + 2867).
    chance = 1.229 / (1.229 + 2867)
    assert now.closed[0].chance_left == pytest.approx(chance, rel=1e-9)
    assert now.closed[0].expected_left == pytest.approx(chance * 137.7112, rel=1e-9)


def test_one_rotten_frame_of_two_says_that_the_other_is_rotten() -> None:
    two = frame(exposure=2.0)
    now = after([two], Opened(0, 1.0, 1.0), on=terms([two]))

    # The set-up is in the found work and comes no second time.
    assert now.found == pytest.approx(137.7112)
    assert now.left == pytest.approx(87.7112, rel=1e-12)
    assert now.closed[0].chance_left == pytest.approx(1.0, rel=1e-12)


@cache
def plain(parts: tuple[Exposure, ...], factors: CostFactors) -> tuple[slow.Part, ...]:
    scale = find_scale(points(), factors)
    return tuple(
        slow.Part(
            found_column(points(), one, scale).share.tolist(),
            one.exposure,
            float(one.unit_price),
            float(one.set_up),
            one.patch,
            one.each,
        )
        for one in parts
    )


CASES: dict[str, tuple[list[Exposure], list[Opened]]] = {
    "a clean deck": (FRAMED, [Opened(0, 60.0, 0.0)]),
    "a rotten deck": (FRAMED, [Opened(0, 60.0, 20.0)]),
    "deck and edge": (FRAMED, [Opened(0, 60.0, 12.5), Opened(4, 20.0, 4.0), Opened(6, 1.0, 1.0)]),
    "edge all open": (LAMINATED, [Opened(3, 62.0, 30.0), Opened(2, 24.0, 0.0)]),
    "the model's own": (TENTHS, [Opened(0, 0.3, 0.1), Opened(5, 0.2, 0.0)]),
}


@pytest.mark.parametrize("factors", [NO_HISTORY, RECORD], ids=["no history", "a record"])
@pytest.mark.parametrize("case", CASES)
def test_the_update_is_what_a_loop_over_the_points_gives(case: str, factors: CostFactors) -> None:
    parts, looks = CASES[case]
    on = terms(parts, basis="open", factors=factors)
    now = after(parts, *looks, on=on)
    seen = [(0.0, 0.0)] * len(parts)
    for look in looks:
        seen[look.part] = (look.opened, look.found)
    told = slow.after(plain(tuple(parts), factors), seen, pot=float(on.pot) + 0.005)

    assert now.method == "points"
    assert now.effective == pytest.approx(told.effective, rel=1e-9)
    assert now.found == pytest.approx(told.found, rel=1e-12)
    assert now.left == pytest.approx(told.left, rel=1e-9)
    assert now.chance_over_pot == pytest.approx(told.over_pot, abs=1e-9)
    assert [row.chance_left for row in now.closed] == pytest.approx(told.chance_left, abs=1e-9)
    assert [row.expected_left for row in now.closed] == pytest.approx(told.expected_left, rel=1e-9, abs=1e-9)
    over = slow.cost_over(told.atoms, factors, base=12500.0, limit=float(on.limit), sd_survey=0.0)
    assert now.chance_cost_over_limit == pytest.approx(over, abs=1e-7)
    # Of the cost law the atoms lose nothing that matters beside every point with its own weight.
    direct = slow.cost_over(
        [told.found + sum(
            one.shares[at] * max(0.0, one.exposure - opened) * one.unit_price
            + (one.set_up if one.shares[at] > 0 and not rotten and one.exposure > opened else 0.0)
            for one, (opened, rotten) in zip(plain(tuple(parts), factors), seen, strict=True)
        ) for at in heavy(plain(tuple(parts), factors), seen)],
        factors, base=12500.0, limit=float(on.limit), sd_survey=0.0,
    )  # fmt: skip
    assert now.chance_cost_over_limit == pytest.approx(direct, abs=0.01)


def heavy(parts: Sequence[slow.Part], seen: Sequence[tuple[float, float]]) -> list[int]:
    """20,000 equally likely places of points by their weights, taken at even steps of the weight."""
    weights = slow.weights_after(parts, seen)
    places, reached, at = [], weights[0], 0
    for step in range(20000):
        while reached < (step + 0.5) / 20000 and at < len(weights) - 1:
            at += 1
            reached += weights[at]
        places.append(at)
    return places


@pytest.mark.parametrize(("opened", "found"), [(32.0, 8.0), (48.0, 40.0), (16.0, 16.0)])
def test_the_share_of_one_component_has_the_conjugate_law(opened: float, found: float) -> None:
    # One component that is certain to be rotten somewhere once a find was made: Beta(m phi, (1 - m) phi) with k of n patches of
    # 16 is Beta(m phi + k, (1 - m) phi + n - k), whose mean is (m phi + k) / (phi + n): 4 x .22 = .88.
    deck = part(exposure=100.0, unit_price="18", share=0.22, phi=4.0, patch=16.0)
    now = after([deck], Opened(0, opened, found))
    mean = (0.88 + found / 16) / (4 + opened / 16)

    assert now.closed[0].chance_left == pytest.approx(1.0)
    assert now.left == pytest.approx(mean * (100.0 - opened) * 18, rel=0.01)


def test_the_chance_of_rot_after_a_sound_look_is_bayes_rule() -> None:
    # Two patches of 16 opened sound: E[(1-F)^2] under Beta(.88, 3.12) is (3.12 x 4.12) / (4 x 5) = .64272.
    # p .5: .5 x .64272 / (.5 x .64272 + .5) = .39125.
    now = after([part(share=0.22, phi=4.0, patch=16.0)], Opened(0, 32.0, 0.0))
    # 4096 points stand for a law, and are within a sixth of a percent of it here.
    assert now.closed[0].chance_left == pytest.approx(0.39125, abs=0.002)


def test_news_about_the_deck_reaches_the_edge_through_the_wetness() -> None:
    before = after(FRAMED).closed[4]
    clean, rotten = after(FRAMED, Opened(0, 60.0, 0.0)).closed[4], after(FRAMED, Opened(0, 60.0, 20.0)).closed[4]
    assert clean.chance_left < before.chance_left < rotten.chance_left
    assert clean.expected_left < before.expected_left < rotten.expected_left


def test_components_that_share_no_wetness_hear_nothing_of_each_other() -> None:
    apart = [replace(one, load=0.0) for one in FRAMED]
    before, now = after(apart), after(apart, Opened(0, 60.0, 20.0))
    # As far as 4096 points go.
    for at in range(1, len(apart)):
        assert now.closed[at].chance_left == pytest.approx(before.closed[at].chance_left, abs=0.02)


def test_more_opened_clean_lowers_the_chance_of_rot() -> None:
    chances = [after(FRAMED, Opened(0, opened, 0.0)).closed[0].chance_left for opened in (0.0, 8.0, 16.0, 48.0, 96.0, 160.0)]
    assert all(later < earlier for earlier, later in pairwise(chances))


def test_more_found_is_more_expected_everywhere() -> None:
    for opened in (16.0, 48.0, 96.0):
        looks = [after(FRAMED, Opened(0, opened, opened * share)) for share in (0.0, 0.05, 0.1, 0.2, 0.3)]
        looks = [look for look in looks if look.method == "points"]
        assert len(looks) >= 3
        for less, more in pairwise(looks):
            for one, other in zip(less.closed[1:], more.closed[1:], strict=True):
                assert other.expected_left >= one.expected_left - 1e-9
            assert more.found + more.left > less.found + less.left
            assert (more.p50, more.p80, more.p90) > (less.p50, less.p80, less.p90)
            assert more.chance_over_pot >= less.chance_over_pot


@pytest.mark.parametrize("found", [0.0, 5.0, 40.0])
def test_what_is_opened_throughout_leaves_nothing(found: float) -> None:
    exposure = FRAMED[0].exposure
    row = after(FRAMED, Opened(0, exposure, found)).closed[0]
    assert (row.left, row.chance_left, row.expected_left) == (0.0, 0.0, 0.0)


def test_a_roof_opened_throughout_leaves_nothing_at_all() -> None:
    looks = [Opened(at, one.exposure, one.exposure / 4 if at % 2 and not one.each else 0.0) for at, one in enumerate(FRAMED)]
    now = after(FRAMED, *looks)
    assert now.left == 0.0
    assert all(row.chance_left == 0.0 for row in now.closed)
    assert now.p50 == pytest.approx((12500 + now.found), rel=1e-9)


def test_more_than_the_exposure_can_be_opened_and_counts_as_all_of_it() -> None:
    edge = FRAMED[4].exposure
    more, whole = after(FRAMED, Opened(4, edge + 30.0, 9.0)), after(FRAMED, Opened(4, edge, 9.0))
    assert replace(more, closed=()) == replace(whole, closed=())
    assert more.closed[4].left == 0.0


def test_what_was_drawn_costs_but_says_nothing() -> None:
    before, now = after(FRAMED), after(FRAMED, Opened(0, 0.0, 0.0, drawn=10.0))
    assert now.effective == before.effective
    assert now.found == pytest.approx(10.0 * float(FRAMED[0].unit_price) + float(FRAMED[0].set_up))
    assert now.closed[0].left == FRAMED[0].exposure - 10.0
    assert now.closed[1:] == before.closed[1:]
    # What was both measured and drawn is one find.
    both, measured = after(FRAMED, Opened(0, 60.0, 10.0), Opened(0, 0.0, 0.0, drawn=10.0)), after(FRAMED, Opened(0, 60.0, 10.0))
    assert replace(both, closed=()) == replace(measured, closed=())
    assert replace(both.closed[0], drawn=0.0) == measured.closed[0]


def test_what_was_declined_costs_nothing_and_is_news_all_the_same() -> None:
    found, declined = after(FRAMED, Opened(0, 60.0, 10.0)), after(FRAMED, Opened(0, 60.0, 10.0, declined=10.0))
    assert (declined.found, declined.effective) == (0.0, found.effective)
    # The set-up is still to come where more of it may be found.
    whole = 10.0 * float(FRAMED[0].unit_price) + float(FRAMED[0].set_up)
    assert found.found == pytest.approx(whole)
    assert declined.closed[0].expected_left >= found.closed[0].expected_left
    # What was ordered costs as what was drawn does.
    assert replace(after(FRAMED, Opened(0, 0.0, 0.0, ordered=10.0)), closed=()) == replace(
        after(FRAMED, Opened(0, 0.0, 0.0, drawn=10.0)), closed=()
    )


@settings(max_examples=30, deadline=None)
@given(
    st.permutations([Opened(0, 20.3, 4.1), Opened(0, 11.7, 0.0), Opened(4, 9.1, 3.3), Opened(8, 3.0, 1.0), Opened(0, 7.9, 0.2)])
)
def test_the_order_of_the_looks_does_not_matter(looks: list[Opened]) -> None:
    assert after(FRAMED, *looks) == after(FRAMED, *sorted(looks, key=lambda look: (look.part, look.opened)))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_every_figure_of_a_forecast_is_what_it_may_be(data: st.DataObject) -> None:
    parts = data.draw(st.sampled_from([FRAMED, LAMINATED]))
    looks = []
    for at, one in enumerate(parts):
        opened = data.draw(st.floats(0, 1)) * one.exposure
        looks.append(Opened(at, opened, data.draw(st.sampled_from([0.0, 0.0, 0.1, 0.5, 1.0])) * opened))
    now = after(parts, *looks, on=terms(parts, basis=data.draw(st.sampled_from(["firm", "open"]))))
    assert now.method == ("points" if now.effective >= 100 else "conjugate")
    assert 0 <= now.effective <= 4096 * (1 + 1e-9)
    assert now.found >= 0
    assert now.left >= 0
    assert now.left == pytest.approx(sum(row.expected_left for row in now.closed), rel=1e-6, abs=1e-6)
    assert 0 < now.p50 <= now.p80 <= now.p90
    for chance in (now.chance_over_pot, now.chance_cost_over_limit, now.chance_over_limit):
        assert 0 <= chance <= 1
    for row, one in zip(now.closed, parts, strict=True):
        assert 0 <= row.chance_left <= 1 + 1e-12
        whole = row.left * float(one.unit_price) + float(one.set_up)
        assert 0 <= row.expected_left <= whole * (1 + 1e-9)


def two_parts() -> list[Exposure]:
    """One component on two constructions: the second part's chance is smaller, so the first carries the set-up of both."""
    first = part("edge", 6, exposure=40.0, unit_price="100", set_up="200", chance=0.5, share=0.3, patch=4.0)
    return [first, replace(first, exposure=20.0, unit_price=D(80), set_up=D(0), chance=0.3)]


def test_the_set_up_of_a_component_in_two_constructions_is_paid_once_whichever_part_is_found() -> None:
    # 3 x 80 + 200, though the part that was found carries no set-up of its own.
    now = after(two_parts(), Opened(1, 5.0, 3.0))
    assert now.found == 440.0
    both = after(two_parts(), Opened(1, 5.0, 3.0), Opened(0, 10.0, 2.0))
    assert both.found == 640.0


def test_the_set_up_is_still_to_come_while_any_part_of_the_component_is_closed() -> None:
    now = after(two_parts(), Opened(0, 40.0, 0.0))
    # The first part is sound throughout; what is left of the second may still need the set-up of both.
    rest = now.closed[1]
    assert now.closed[0].expected_left == pytest.approx(rest.chance_left * 200, rel=1e-9)
    whole = after(two_parts(), Opened(0, 40.0, 0.0), Opened(1, 20.0, 0.0))
    assert whole.left == 0.0


BAD: dict[str, tuple[Opened, str]] = {
    "another component": (Opened(10, 1.0, 0.0), "opened/0/part"),
    "before the first": (Opened(-1, 1.0, 0.0), "opened/0/part"),
    "less than nothing": (Opened(0, -1.0, 0.0), "opened/0/opened"),
    "no number": (Opened(0, math.nan, 0.0), "opened/0/opened"),
    "without end": (Opened(0, math.inf, 0.0), "opened/0/opened"),
    "found less than nothing": (Opened(0, 1.0, -0.5), "opened/0/found"),
    "found more than opened": (Opened(0, 1.0, 1.5), "opened/0/found"),
    "drawn less than nothing": (Opened(0, 1.0, 0.5, -1.0), "opened/0/drawn"),
}


@pytest.mark.parametrize("case", BAD)
def test_a_look_that_cannot_be_is_refused(case: str) -> None:
    look, field = BAD[case]
    with pytest.raises(CalculationError) as refused:
        after(FRAMED, look)
    assert (refused.value.code, refused.value.field) == ("bad_opening", field)


def test_every_fault_of_a_job_is_told_at_once() -> None:
    on = replace(terms(FRAMED), basis="fixed", base=D(0), pot=D(-1), limit=D("NaN"), sd_survey=-1.0)
    with pytest.raises(CalculationError) as refused:
        update(points(), FRAMED, [], on)
    assert refused.value.code == "several_faults"
    assert {fault.field for fault in refused.value.faults} == {"basis", "base", "pot", "limit", "sd_survey"}  # type: ignore[attr-defined]


def test_a_job_without_hidden_components_is_its_visible_work() -> None:
    now: Update = update(points(), [], [], replace(terms(FRAMED), pot=D(0)))
    assert (now.found, now.left, now.chance_over_pot, now.closed) == (0.0, 0.0, 0.0, ())
    assert now.p50 == pytest.approx(12500.0, rel=1e-9)
