"""Hours to go, by hand and what must always hold."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.errors import CalculationError
from quotes.calc.teardown import LineProgress, hours_to_complete

D = Decimal


def line(planned: str, earned_share: str) -> LineProgress:
    return LineProgress(D(planned), D(earned_share))


def test_a_slow_job_is_worked_by_hand() -> None:
    # Earned 20 x 1 + 30 x 0.5 = 35 of 60 planned, 45 worked: index (40 + 35) / (40 + 45) = 0.882353 -> 0.8824.
    # To go (60 - 35) / (75 / 85) = 25 x 85 / 75 = 28.3333; at completion 45 + 28.3333.
    told = hours_to_complete([line("20", "1"), line("30", "0.5"), line("10", "0")], D("45"))
    assert (told.planned, told.earned, told.actual) == (D("60.0000"), D("35.0000"), D("45.0000"))
    assert (told.index, told.to_go, told.at_completion) == (D("0.8824"), D("28.3333"), D("73.3333"))


def test_before_anything_is_done_the_plan_holds() -> None:
    told = hours_to_complete([line("12.5", "0"), line("7.5", "0")], D(0))
    assert (told.index, told.to_go, told.at_completion) == (D("1.0000"), D("20.0000"), D("20.0000"))


def test_a_bad_morning_hardly_moves_it() -> None:
    # 4 hours worked for 2 earned: earned over actual alone would say .5; (40 + 2) / (40 + 4) = .9545.
    assert hours_to_complete([line("40", "0.05")], D(4)).index == D("0.9545")


def test_when_all_is_earned_nothing_is_to_go() -> None:
    told = hours_to_complete([line("30", "1")], D("41.25"))
    assert (told.to_go, told.at_completion) == (D("0.0000"), D("41.2500"))


def test_a_job_without_lines_has_nothing_to_go() -> None:
    assert hours_to_complete([], D(3)).at_completion == D("3.0000")


SHARES = st.decimals(0, 1, places=2)
HOURS = st.decimals(0, 400, places=2)


@given(st.lists(st.tuples(HOURS, SHARES), max_size=8), HOURS, HOURS)
def test_more_hours_for_the_same_work_mean_more_to_go(
    rows: list[tuple[Decimal, Decimal]], actual: Decimal, more: Decimal
) -> None:
    lines = [LineProgress(planned, share) for planned, share in rows]
    one, other = hours_to_complete(lines, actual), hours_to_complete(lines, actual + more)
    assert other.to_go >= one.to_go
    assert other.index <= one.index
    assert one.at_completion == one.actual + one.to_go


@given(st.lists(st.tuples(HOURS, SHARES), max_size=8), HOURS)
def test_the_index_lies_between_one_and_what_the_hours_alone_say(rows: list[tuple[Decimal, Decimal]], actual: Decimal) -> None:
    told = hours_to_complete([LineProgress(planned, share) for planned, share in rows], actual)
    if told.earned <= told.actual:
        assert told.earned <= told.index * told.actual + D("0.05")
        assert told.index <= 1
    else:
        assert told.index >= 1


@pytest.mark.parametrize(
    ("lines", "actual", "field"),
    [
        ([line("-1", "0")], "1", "lines/0/planned"),
        ([line("1", "1.01")], "1", "lines/0/earned_share"),
        ([line("1", "-0.1")], "1", "lines/0/earned_share"),
        ([line("1", "NaN")], "1", "lines/0/earned_share"),
        ([line("1", "0"), line("Infinity", "0")], "1", "lines/1/planned"),
        ([], "-0.5", "actual"),
    ],
)
def test_hours_that_cannot_be_are_refused(lines: list[LineProgress], actual: str, field: str) -> None:
    with pytest.raises(CalculationError) as refused:
        hours_to_complete(lines, D(actual))
    assert (refused.value.code, refused.value.field) == ("bad_progress", field)
