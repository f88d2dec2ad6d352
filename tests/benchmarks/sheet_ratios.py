"""The measurements of `bench_sheets`: a test, so that it gets the database that tests get.

Prints ratios of one run to the statement that inserts a posted quote with its lines, and to the same quote worked in plain
floats (`tests/oracles/plain_quote.py`). Cold is a plan that nobody asked for before; kept is asked the same again. Mark: an
earlier planner took 52 x a raw insert of 25 lines, cold.
"""

import time
from collections.abc import Callable
from decimal import Decimal

import pytest

from quotes.calc.sheets import Damage, Deck, LayingRules, SheetSize, cover_damage, plan_sheets
from tests.benchmarks.post_ratios import insert_alone
from tests.benchmarks.sized_coach import GOODS, MARKUP, RATES
from tests.calc.roofs import FOOT
from tests.oracles.plain_quote import Size, visible_work
from tests.rest.office import office
from tests.rest.quoting import Quoting

ROUNDS = 20
FOUR_BY_EIGHT = SheetSize("four-by-eight", 8 * FOOT, 4 * FOOT, Decimal(24))
FOUR_BY_TEN = SheetSize("four-by-ten", 10 * FOOT, 4 * FOOT, Decimal(30))
RULES = LayingRules(1 * FOOT, 1 * FOOT, joint_price_per_foot=Decimal("3.40"))
FREE_JOINTS = LayingRules(1 * FOOT, 1 * FOOT)


def best(work: Callable[[], object], before: Callable[[], object] = lambda: None) -> float:
    """Seconds of the fastest of a few rounds, each after something that is not counted."""
    times = []
    for _ in range(ROUNDS):
        before()
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def plans() -> dict[str, Callable[[], object]]:
    roof_34, roof_40 = Deck("main", 34 * FOOT, 7.339 * FOOT), Deck("main", 40 * FOOT, 8.2 * FOOT)
    step, rafters = Deck("step", 12 * FOOT, 7.839 * FOOT), tuple(16 / 12 * FOOT * at for at in range(31))
    framed = Deck("main", 40 * FOOT, 7.839 * FOOT, rafters)
    both = (FOUR_BY_EIGHT, FOUR_BY_TEN)
    damage = tuple(
        Damage(2 * FOOT * row, 2 * FOOT * (row + 1), 1.96 * FOOT * lane, 1.96 * FOOT * (lane + 1))
        for row, lane in ((1, 0), (1, 1), (2, 1), (3, 2), (7, 3), (8, 3), (8, 2), (12, 0), (15, 1), (16, 1), (17, 3), (19, 0))
    )
    return {
        "34 ft, one size": lambda: plan_sheets((roof_34,), (FOUR_BY_EIGHT,), RULES),
        "40 ft, two sizes": lambda: plan_sheets((roof_40,), both, RULES),
        "40 ft on rafters, two sizes": lambda: plan_sheets((framed,), both, RULES),
        "34 ft and a step of 12 ft, two sizes": lambda: plan_sheets((roof_34, step), both, RULES),
        "40 ft, two sizes, joints for nothing": lambda: plan_sheets((roof_40,), both, FREE_JOINTS),
        "twelve damaged cells on rafters": lambda: cover_damage(damage, framed, (FOUR_BY_EIGHT,), RULES),
    }


def forget() -> None:
    plan_sheets.cache_clear()
    cover_damage.cache_clear()


@pytest.mark.django_db(transaction=True)
def test_ratios_of_planning(capsys: pytest.CaptureFixture[str]) -> None:
    quoting = Quoting(office())
    quoting.draft()  # The first one of a cost base keeps that too.
    insert_once = insert_alone(quoting)
    insert = min(insert_once() for _ in range(ROUNDS))
    plain = best(lambda: visible_work(Size(408, 96, 1.5, 4, 1.5), RATES, GOODS, MARKUP))
    with capsys.disabled():
        print()
        for name, plan in plans().items():
            cold, kept = best(plan, forget), best(plan)
            print(f"{name:38} cold / insert {cold / insert:7.1f}  / plain floats {cold / plain:7.1f}", end="")
            print(f"  kept / insert {kept / insert:6.3f}  / plain floats {kept / plain:6.3f}")
