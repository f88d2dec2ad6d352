"""What marks on the roof and the way of looking at it do to a whole quote."""

from dataclasses import replace
from typing import Any

import pytest

from quotes.calc.contingency import NO_HISTORY
from quotes.calc.geometry import Roof
from quotes.calc.inputs import QuoteInputs
from quotes.calc.quote import Quote, compute_quote
from quotes.calc.survey import SeverityRules
from tests.calc.contingency_cases import points
from tests.calc.roofs import laminated_34_ft
from tests.calc.shipped_base import base_with, inputs, quoted, shipped
from tests.calc.surveys import all_cells, cell, contents, strip, survey

PLAN = "skin-over-kept-deck"
MAIN = laminated_34_ft().sections[0]


def surveyed(*marks: object, method: str = "walked", roof: Roof | None = None) -> Quote:
    return quoted(_inputs(*marks, method=method, roof=roof))


def _inputs(*marks: object, method: str = "walked", roof: Roof | None = None) -> QuoteInputs:
    return inputs(roof or laminated_34_ft(), plan=PLAN, survey=survey(*marks, method=method))


def exposures(quote: Quote) -> dict[str, float]:
    return {work.component.slug: work.exposure for work in quote.hidden}


@pytest.mark.parametrize(
    ("method", "deck", "core"),
    # Of 249.5265 sq ft a sound cell leaves 0.7 when walked, 0.4 when metered, nothing when opened; of the core 0.2 of it.
    [("walked", 174.6685, 34.9337), ("metered", 99.8106, 19.9621), ("opened", 0.0, 0.0)],
)
def test_sound_cells_shrink_the_exposure_of_deck_and_core(method: str, deck: float, core: float) -> None:
    found = exposures(surveyed(*all_cells(MAIN, "sound", method), method=method))

    assert (found["deck"], found["core"]) == (deck, core)
    assert (found["edge"], found["cap_backing"]) == (68.0, 16.7724)


def test_cells_that_nobody_checked_are_exposed_in_full() -> None:
    # One row of 24 in of 408 is sound by the meter: 1 - 24/408 x 0.6 of 249.5265.
    found = exposures(surveyed(*(cell(f"1{lane}", "sound", "metered") for lane in "ABCD")))

    assert found["deck"] == pytest.approx(249.52647 * (1 - 24 / 408 * 0.6), abs=5.1e-5)


def test_damp_cells_are_dried_and_stay_exposed_in_full() -> None:
    quote = surveyed(cell("3A", "damp", "metered"))

    assert quote.measured.whole["dry_days"] == 3 * 86_400
    assert exposures(quote)["deck"] == 249.5265
    assert "dry-out" in {take.assembly.slug for take in quote.takes}


def test_rotten_cells_go_to_the_visible_work_in_whole_courses_and_out_of_the_exposure() -> None:
    quote = surveyed(cell("3A", "rotten", "opened"), cell("10C", "soft"))

    # Courses from 4 to 8 ft and from 16 to 20 ft: 8 of 34 ft.
    assert quote.measured.sections["main"]["deck_replaced_share"] == pytest.approx(8 / 34)
    assert exposures(quote)["deck"] == pytest.approx(249.52647 * 26 / 34, abs=5.1e-5)
    assert exposures(quote)["deck_splinters"] == pytest.approx(249.52647 * 8 / 34, abs=5.1e-5)


def test_strips_shrink_the_edge_by_length_and_rot_along_it_is_repaired() -> None:
    # Driver side, 17 strips of 24 in: one is rotten (2 ft to the base), one is sound and opened (2 ft less of 66).
    quote = surveyed(strip("driver", 4, "rotten", "opened"), strip("driver", 5, "sound", "opened"))

    (repaired,) = [take for take in quote.takes if take.assembly.slug == "wall-top-repair"]
    assert repaired.driver == pytest.approx(2 * 3048.0)
    assert exposures(quote)["edge"] == pytest.approx(64.0, abs=5.1e-5)


def test_a_better_way_of_looking_at_a_sound_roof_sets_less_aside() -> None:
    aside = [
        surveyed(*all_cells(MAIN, "sound", method), method=method).totals.contingency
        for method in ("walked", "metered", "opened")
    ]

    assert aside[0] > aside[1] > aside[2]


@pytest.mark.parametrize("basis", ["firm", "open"])
def test_with_exposures_and_tiers_the_same_the_way_of_surveying_never_moves_the_allowance(basis: str) -> None:
    # An unmarked roof is of tier local whatever the method, and all of it is exposed.
    base = base_with(PLAN, rule={"price_basis": basis})
    quotes = [quoted(_inputs(method=method), base) for method in ("told", "photographs", "walked", "metered", "opened")]

    assert len({quote.totals.allowance for quote in quotes}) == 1
    assert len({quote.set_aside.base_expected for quote in quotes}) == 1
    assert {quote.severity.tier for quote in quotes} == {"local"}


def test_the_way_of_surveying_widens_an_open_limit_and_leaves_a_firm_one() -> None:
    open_base, firm = base_with(PLAN, rule={"price_basis": "open"}), shipped(PLAN)

    assert quoted(_inputs(method="told"), open_base).totals.limit > quoted(_inputs(method="opened"), open_base).totals.limit
    assert quoted(_inputs(method="told"), firm).totals.limit == quoted(_inputs(method="opened"), firm).totals.limit


def test_a_roof_that_hides_nothing_sets_nothing_aside() -> None:
    components = {slug: replace(one, exposure="0") for slug, one in shipped(PLAN).components.items()}
    units = {slug: one for slug, one in components.items() if one.unit == "each"}
    quote = quoted(_inputs(), base_with(PLAN, components=units))

    assert quote.totals.contingency == quote.totals.allowance == 0
    assert quote.totals.limit == quote.totals.base
    assert quote.set_aside.chance_nothing_found == 1.0


def test_marks_do_not_move_unit_prices_that_are_the_same_for_every_find() -> None:
    plain, marked = surveyed(), surveyed(*all_cells(MAIN, "sound", "metered"))
    prices = [{work.component.slug: work.cost.price for work in quote.hidden} for quote in (plain, marked)]

    assert prices[0] == prices[1]


def test_severity_rules_of_a_shop_s_own_decide_what_sound_leaves() -> None:
    changed: dict[str, Any] = contents()
    changed["sound_leaves"]["walked"] = 0.5
    marked = _inputs(*all_cells(MAIN))
    quote = _by_rules(marked, SeverityRules.from_contents(changed))

    # 249.5265 x 0.5.
    assert exposures(quote)["deck"] == 124.7632


def _by_rules(wanted: QuoteInputs, rules: SeverityRules) -> Quote:
    return compute_quote(wanted, shipped(wanted.plan), rules, NO_HISTORY, points())


def test_a_quote_says_how_much_of_the_roof_was_checked() -> None:
    # 8 of 17 rows.
    quote = surveyed(*(cell(f"{row}{lane}", "sound") for row in range(1, 9) for lane in "ABCD"))

    assert quote.reading.checked_share == pytest.approx(8 / 17)
    assert "no cell of this part of the roof was checked" in " ".join(surveyed().warnings)
