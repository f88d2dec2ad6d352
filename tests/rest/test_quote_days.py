"""How long does the coach stand in the shop, and what does it wait for? A quote tells its schedule as data."""

from tests.rest.quoting import Body, Quoting


def schedule_of(quote: Body) -> dict[str, Body]:
    return {task["task"]: task for task in quote["days"]["schedule"]}


def test_a_quote_tells_each_task_with_its_days_and_what_it_waits_for(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    schedule = schedule_of(quote)

    assert schedule["intake-survey"] == {
        "task": "intake-survey",
        "assembly": "intake-survey",
        "name": "Intake, photo record, moisture map, scope sketch",
        "phase": "survey",
        # 3 h of one person in a day of 8.
        "start": 0.0,
        "end": 0.375,
        "ready": 0.375,
        "waits_for": [],
        "lead": 0,
    }
    assert schedule["skin-dry-fit"]["waits_for"] == ["deck-joints"]
    assert schedule["awning-refit:refit"]["waits_for"] == ["awning-refit", "perimeter-bead", "fittings-pour"]
    assert schedule["frp-skin-bond"]["lead"] == 21
    # A bond cures over night and the crew goes on elsewhere or comes back in the morning.
    assert schedule["deck-bond"]["ready"] == int(schedule["deck-bond"]["end"]) + 1


def test_the_days_are_those_of_the_schedule(quoting: Quoting) -> None:
    days = quoting.draft().json()["days"]

    assert days["low"] == max(task["ready"] for task in days["schedule"])
    assert days["low"] == days["working"] + days["waiting"]
    assert days["low"] < days["high"]
    assert days["goods_after"] == 21 - schedule_of({"days": days})["frp-skin-bond"]["start"]
    assert days["at_once"] > days["low"]


def test_a_promise_of_the_estimator_stands_in_place_of_the_range_and_leaves_the_schedule(quoting: Quoting) -> None:
    plain = quoting.tried()["days"]
    days = quoting.tried(days={"low": 12, "high": 15, "reason": "Two crews in June."})["days"]

    assert (days["low"], days["high"], days["reason"]) == (12, 15, "Two crews in June.")
    assert days["schedule"] == plain["schedule"]


def test_a_coach_told_of_over_the_telephone_has_days_too(quoting: Quoting) -> None:
    survey = quoting.add_survey(quoting.coach, method="told")
    quote = quoting.tried(survey=survey, plan="reseal", measures=[])

    assert schedule_of(quote)["perimeter-bead"]["waits_for"] == ["intake-survey", "roof-access", "scrape-sealant"]
