"""One crew, six tasks, nights and goods: schedules worked by hand, and what holds of all of them.

A day is 8 hours of work; 1.0 is the evening of the first day and the morning of the second.
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.assemblies import Assembly
from costbase.calc.cost_base import CostBase
from quotes.calc.boards import Boards
from quotes.calc.days import NO_WAIT, Schedule, ScheduleError, Task, Wait, chains, earliest, handing_on, network, orders, placed
from quotes.calc.measured import Measured
from quotes.calc.skin_stocks import Skins
from quotes.calc.takeoff import Take
from tests.calc.roofs import laminated_34_ft
from tests.calc.shipped_base import base_with, entry, framed, inputs, laminated, quoted, shipped
from tests.oracles.by_the_hour import Job, last_day, longest_chain

CURE = Wait(cure_hours=12.0)
HOLD = Wait(hold_hours=24.0)


def strip_to_test(*, goods_day: float = 0.0) -> list[Task]:
    """Strip, bond (cures), caps beside it, skin (ordered), bead (kept dry), test."""
    return [
        Task("strip", 1.0, NO_WAIT, ()),
        Task("bond", 0.5, CURE, (0,)),
        Task("caps", 0.75, NO_WAIT, (0,)),
        Task("skin", 0.5, NO_WAIT, (1,), goods_day, ordered=True),
        Task("bead", 0.25, HOLD, (3,)),
        Task("test", 0.25, NO_WAIT, (2, 4)),
    ]


def scheduled(tasks: list[Task], *, wait_for_goods: bool = False) -> Schedule:
    return earliest(tasks, orders(tasks, 8.0), 8.0, wait_for_goods=wait_for_goods)


def times(tasks: list[Task], schedule: Schedule) -> dict[str, tuple[float, float]]:
    return {task.name: (schedule.starts[at], schedule.ends[at]) for at, task in enumerate(tasks)}


# Worked by hand ---------------------------------------------------------------------------------------------


def test_a_chain_is_its_work_and_what_it_waits_for() -> None:
    # test 0.25; bead 0.25 + 1 + 0.25; skin 0.5 + 1.5; bond 0.5 + a night counted as a day + 2; caps 0.75 + 0.25; strip 1 + 3.5.
    assert chains(strip_to_test()) == [4.5, 3.5, 1.0, 2.0, 1.5, 0.25]


def test_other_work_goes_on_while_something_cures() -> None:
    # Strip 0 to 1. Bond before caps, since more depends on it: 1 to 1.5, cured on the morning of the third day, 2. Caps in the
    # meantime: 1.5 to 2.25. Skin 2.25 to 2.75, bead 2.75 to 3: kept dry for 24 hours from that evening, until 4. Test to 4.25.
    # Added up it would be 3.25 of work, a night and a day: 5.25.
    tasks = strip_to_test()

    assert times(tasks, scheduled(tasks)) == {
        "strip": (0.0, 1.0),
        "bond": (1.0, 1.5),
        "caps": (1.5, 2.25),
        "skin": (2.25, 2.75),
        "bead": (2.75, 3.0),
        "test": (4.0, 4.25),
    }


def test_work_that_needs_ordered_goods_begins_when_they_are_there() -> None:
    # The skin comes on the morning of day 3: 3 to 3.5, bead to 3.75, kept dry until 4.75, test to 5.
    tasks = strip_to_test(goods_day=3.0)
    schedule = scheduled(tasks, wait_for_goods=True)

    assert times(tasks, schedule)["skin"] == (3.0, 3.5)
    assert schedule.end == 5.0
    assert scheduled(tasks).end == 4.25


def test_what_needs_no_goods_is_done_while_they_are_on_their_way() -> None:
    # By chains the skin comes first: 1 to 1.5, its trim 1.5 to 3.5, and only then the ladder's day, to 4.5. The ladder first:
    # 0 to 1, the skin 1 to 1.5, the trim to 3.5.
    tasks = [
        Task("skin", 0.5, NO_WAIT, (), 1.0, ordered=True),
        Task("trim", 2.0, NO_WAIT, (0,)),
        Task("ladder", 1.0, NO_WAIT, ()),
    ]

    assert orders(tasks, 8.0) == ((0, 1, 2), (2, 0, 1))
    assert placed(tasks, (0, 1, 2), 8.0, wait_for_goods=True).end == 4.5
    assert scheduled(tasks, wait_for_goods=True).end == 3.5


@pytest.mark.parametrize(
    ("end", "wait", "ready"),
    [
        # In the evening, and four hours into a day: cured by the next morning.
        (2.0, Wait(cure_hours=12.0), 2.0),
        (1.5, Wait(cure_hours=12.0), 2.0),
        # An hour's cure still takes the night; 20 hours from noon of the second day (4 h into it) are over in the third night.
        (1.5, Wait(cure_hours=1.0), 2.0),
        (1.5, Wait(cure_hours=20.0), 2.0),
        # 26 hours from 4 h into a day are 6 h into the next.
        (1.5, Wait(cure_hours=26.0), 2.75),
        # 24 hours by the clock, from the middle of a day and from an evening.
        (1.5, Wait(hold_hours=24.0), 2.5),
        (2.0, Wait(hold_hours=24.0), 3.0),
        # Two hours of hold are over the same day, or in the night.
        (1.5, Wait(hold_hours=2.0), 1.75),
        (1.875, Wait(hold_hours=2.0), 2.0),
        # Three days of drying; what runs beside it costs nothing.
        (1.5, Wait(days=3.0), 4.5),
        (1.5, Wait(days=3.0, cure_hours=12.0, hold_hours=24.0), 4.5),
    ],
)
def test_a_wait_is_over(end: float, wait: Wait, ready: float) -> None:
    assert placed([Task("one", end, wait, ())], (0,), 8.0).ready == (ready,)


def test_ties_go_by_the_order_of_the_plan() -> None:
    tasks = [Task(name, 0.5, NO_WAIT, ()) for name in ("first", "second", "third")]

    assert scheduled(tasks).order == (0, 1, 2)


def test_tasks_in_a_circle_are_named() -> None:
    tasks = [Task("free", 1.0, NO_WAIT, ()), Task("hen", 1.0, NO_WAIT, (2,)), Task("egg", 1.0, NO_WAIT, (1,))]

    with pytest.raises(ScheduleError, match="hen, egg"):
        orders(tasks, 8.0)


# The network of a quote -------------------------------------------------------------------------------------


def work(slug: str, *after: str, reset_after: tuple[str, ...] = (), off_share: float | None = None) -> Assembly:
    plain = shipped().assemblies["open-roof-inspection"]
    return replace(plain, slug=slug, name=slug, phase="strip", predecessors=after, reset_after=reset_after, off_share=off_share)


def waits(*there: str, every: list[Assembly]) -> dict[str, set[str]]:
    """What each task waits for, of the assemblies that there is any of."""
    known = {assembly.slug: assembly for assembly in every}
    takes = [Take(known[slug], 1.0, (("", 1.0),), {}, {}, 1.0) for slug in there]
    works = network(takes, {}, {}, Measured({}, {}, Boards({}, {}, (), {}), Skins((), {})), known)
    return {each.task.name: {works[at].task.name for at in each.task.after} for each in works}


def test_what_is_not_there_hands_on_what_it_waits_for() -> None:
    every = [work("access"), work("strip", "access"), work("dry", "strip"), work("deck", "dry")]

    assert waits("access", "strip", "deck", every=every)["deck"] == {"strip"}
    assert waits("access", "deck", every=every)["deck"] == {"access"}
    assert handing_on(["access", "deck"], {assembly.slug: assembly for assembly in every}) == ("dry", "strip")


def test_of_alternatives_whichever_is_there_is_waited_for() -> None:
    every = [work("deck"), work("frp", "deck"), work("membrane", "deck"), work("edge", "frp|membrane")]

    assert waits("deck", "membrane", "edge", every=every)["edge"] == {"membrane"}
    assert waits("deck", "edge", every=every)["edge"] == {"deck"}


def test_what_comes_off_and_goes_back_is_two_tasks() -> None:
    # The rails come off after the awning is off, since it goes back after the rails' seal; the test waits for its refit.
    awning = work("awning", "access", reset_after=("seal",), off_share=0.45)
    every = [work("access"), awning, work("rails", "awning"), work("seal", "rails"), work("test", "seal", "awning")]
    found = waits("access", "awning", "rails", "seal", "test", every=every)

    assert found["awning"] == {"access"}
    assert found["rails"] == {"awning"}
    assert found["awning:refit"] == {"awning", "seal"}
    assert found["test"] == {"seal", "awning:refit"}


def test_two_that_go_back_after_each_other_make_no_circle() -> None:
    # The ladder goes back after the feet are sealed, the feet after the ladder's holes are dressed: each waits for the other's
    # taking off, and nothing for itself.
    ladder = work("ladder", reset_after=("feet-seal",), off_share=0.5)
    panel = work("panel", reset_after=("holes",), off_share=0.5)
    every = [ladder, panel, work("feet-seal", "panel"), work("holes", "ladder")]
    found = waits("ladder", "panel", "feet-seal", "holes", every=every)

    assert (found["feet-seal"], found["holes"]) == ({"panel"}, {"ladder"})
    assert (found["ladder:refit"], found["panel:refit"]) == ({"ladder", "feet-seal"}, {"panel", "holes"})


def test_the_shipped_work_comes_in_the_order_of_the_trade() -> None:
    # Source: common practice, none published.
    starts = {task.task: task.start for task in quoted(laminated()).days.tasks}
    in_order = (
        "intake-survey", "interior-protection", "skin-off", "deck-off-sheets", "open-roof-inspection", "dry-out",
        "foam-replace", "deck-bond", "deck-joints", "frp-skin-bond", "edge-and-gutter", "cap-joint-rebuild", "perimeter-bead",
        "ac-refit:refit", "leak-test", "hand-over",
    )  # fmt: skip

    assert list(in_order) == sorted(in_order, key=starts.__getitem__)
    assert starts["ac-refit"] < starts["skin-off"]


# Days of a quote --------------------------------------------------------------------------------------------


def test_the_days_of_a_quote_are_those_of_its_schedule() -> None:
    days = quoted(framed()).days

    assert days.low == max(task.ready for task in days.tasks)
    assert days.low == days.working + days.waiting
    assert sum(task.end - task.start for task in days.tasks) == pytest.approx(days.working)


def test_a_refit_takes_the_rest_of_the_hours_of_its_line() -> None:
    # An awning is 1.5 h each of two people: 1.5 / 8 = 0.1875 of a day, 0.45 of it before and 0.55 after.
    tasks = {task.task: task for task in quoted(inputs(laminated_34_ft())).days.tasks}

    assert tasks["awning-refit"].end - tasks["awning-refit"].start == pytest.approx(0.084375)
    assert tasks["awning-refit:refit"].end - tasks["awning-refit:refit"].start == pytest.approx(0.103125)
    assert (tasks["awning-refit"].phase, tasks["awning-refit:refit"].phase) == ("strip", "refit")


def test_drying_delays_only_what_waits_for_it() -> None:
    # Wet for ten days: the cap is laminated and the wiring is done meanwhile, the foam waits.
    wet = quoted(inputs(laminated_34_ft(), entered=(entry("dry_days", "10 day"), entry("cap_crack_length", "2 ft"))))
    tasks = {task.task: task for task in wet.days.tasks}

    assert wet.days.drying == 10.0
    assert tasks["dry-out"].ready == tasks["dry-out"].end + 10.0
    assert tasks["cap-crack-laminate"].end < tasks["dry-out"].ready <= tasks["deck-bond"].start


def test_hidden_work_makes_the_range_and_falls_in_the_phases_of_its_repairs() -> None:
    quote = quoted(framed())
    days = quote.days

    assert days.hidden == days.working * float(quote.totals.contingency / quote.totals.base)
    assert days.low < days.high <= days.low + days.hidden + 2.0


def test_a_quote_that_opens_nothing_has_no_range() -> None:
    days = quoted(inputs(laminated_34_ft(), plan="reseal")).days

    assert days.low == days.high
    # The bead, the pour and the feet are kept dry for a day, together. A helper carries the 12 lb of scrapings off meanwhile:
    # 0.006 ton x 2.5 h / (2 x 8 h) = 0.0009 of a day.
    assert days.waiting == pytest.approx(0.999062, abs=1e-6)


def test_the_coach_comes_in_when_the_goods_will_be_there_in_time() -> None:
    # The skin takes 21 days and is needed when the deck is done; nothing else that is ordered is as late.
    days = quoted(laminated()).days
    (skin,) = [task for task in days.tasks if task.task == "frp-skin-bond"]

    assert (days.lead, days.lead_material) == (21, "Gel-coated FRP roof sheet from coil, 108 in wide")
    assert (skin.lead, days.goods_after) == (21, 21.0 - skin.start)
    # The skin is bonded from 12.44 to 13.10 and cured on the morning of 14. If the coach comes in at once it is bonded from 21
    # to 21.66 and cured on the morning of 22, and everything behind it comes 8 days later.
    assert skin.ready == 14.0
    assert days.at_once - days.low == pytest.approx(8.0)


def test_stock_lies_on_the_shelf_and_is_waited_for_by_nobody() -> None:
    materials = dict(shipped("skin-over-kept-deck").materials)
    for slug, goods in materials.items():
        materials[slug] = replace(goods, supply="stock", lead_days=40)
    days = quoted(framed(), base_with("skin-over-kept-deck", materials=materials)).days

    assert (days.lead, days.lead_material, days.goods_after, days.at_once) == (0, "", 0.0, days.low)


def with_leads(lead: int) -> CostBase:
    materials = {slug: replace(goods, lead_days=lead) for slug, goods in shipped("skin-over-kept-deck").materials.items()}
    return base_with("skin-over-kept-deck", materials=materials)


def test_more_lead_is_never_earlier() -> None:
    at_once = [quoted(framed(), with_leads(lead)).days.at_once for lead in (0, 1, 2, 5, 9, 30)]

    assert at_once == sorted(at_once)
    assert at_once[0] == quoted(framed()).days.low


# What holds of every network --------------------------------------------------------------------------------


@st.composite
def networks(draw: st.DrawFn) -> list[Job]:
    jobs: list[Job] = []
    for at in range(draw(st.integers(1, 7))):
        after = draw(st.sets(st.integers(0, at - 1), max_size=3)) if at else set()
        jobs.append(
            Job(
                hours=draw(st.integers(1, 20)),
                cure=draw(st.sampled_from((0, 0, 4, 12))),
                hold=draw(st.sampled_from((0, 0, 24))),
                days=draw(st.sampled_from((0, 0, 1, 3))),
                after=tuple(sorted(after)),
                goods_day=draw(st.integers(0, 6)),
            )
        )
    return jobs


def tasks_of(jobs: list[Job], hours_a_day: int) -> list[Task]:
    return [
        Task(
            name=str(at),
            work=job.hours / hours_a_day,
            wait=Wait(float(job.cure), float(job.hold), float(job.days)),
            after=job.after,
            goods_day=float(job.goods_day),
            ordered=job.goods_day > 2,
        )
        for at, job in enumerate(jobs)
    ]


@settings(max_examples=100, deadline=None)
@given(jobs=networks(), hours_a_day=st.sampled_from((4, 8, 10)))
def test_a_schedule_ends_when_a_crew_at_the_clock_ends(jobs: list[Job], hours_a_day: int) -> None:
    tasks = tasks_of(jobs, hours_a_day)
    within = orders(tasks, hours_a_day)
    alone = [replace(job, goods_day=0) for job in jobs]

    plain = earliest(tasks, within, hours_a_day)
    brought = earliest(tasks, within, hours_a_day, wait_for_goods=True)
    assert plain.end == pytest.approx(min(last_day(alone, order, hours_a_day) for order in within))
    assert brought.end == pytest.approx(min(last_day(jobs, order, hours_a_day) for order in within))


@settings(max_examples=100, deadline=None)
@given(jobs=networks())
def test_a_schedule_lies_between_the_longest_chain_and_the_sum(jobs: list[Job]) -> None:
    tasks = tasks_of(jobs, 8)
    end = earliest(tasks, orders(tasks, 8), 8).end
    # No wait here is longer than a day by itself, drying apart.
    together = sum(task.work + max(float(bool(task.wait.cure_hours or task.wait.hold_hours)), task.wait.days) for task in tasks)

    assert longest_chain(jobs, 8) - 1e-9 <= end <= together + 1e-9


@settings(max_examples=100, deadline=None)
@given(jobs=networks(), more=st.integers(1, 5), at=st.integers(0, 6))
def test_goods_that_come_later_and_work_that_takes_longer_never_end_it_earlier(jobs: list[Job], more: int, at: int) -> None:
    tasks = tasks_of(jobs, 8)
    within = orders(tasks, 8)
    at %= len(tasks)
    later = [replace(task, goods_day=task.goods_day + more * (place == at)) for place, task in enumerate(tasks)]
    longer = [task.work + 0.125 * more * (place == at) for place, task in enumerate(tasks)]

    brought = earliest(tasks, within, 8, wait_for_goods=True).end
    assert earliest(later, orders(later, 8), 8, wait_for_goods=True).end >= brought
    assert brought >= earliest(tasks, within, 8).end
    assert earliest(tasks, within, 8, work=longer).end >= earliest(tasks, within, 8).end


@settings(max_examples=100, deadline=None)
@given(jobs=networks())
def test_nothing_begins_before_what_it_waits_for_nor_beside_other_work(jobs: list[Job]) -> None:
    tasks = tasks_of(jobs, 8)
    schedule = earliest(tasks, orders(tasks, 8), 8)

    for at, task in enumerate(tasks):
        assert all(schedule.ready[before] <= schedule.starts[at] for before in task.after)
    for one, other in zip(schedule.order, schedule.order[1:], strict=False):
        assert schedule.ends[one] <= schedule.starts[other]
