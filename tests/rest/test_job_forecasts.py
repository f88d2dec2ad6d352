"""The forecast of a job while its roof is opened: what is kept, who sees what, and when a change order is drafted."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from costbase.scope import Actor
from quotes.actions.forecasts import forecast_after
from quotes.actions.jobs import held_job
from quotes.models import (
    ChangeOrder,
    ChangeOrderLine,
    ChangeOrderWay,
    FoundNote,
    Job,
    JobComponent,
    JobForecast,
    OpeningEntry,
    Quote,
)
from quotes.reports.forecasts import working
from tests import make
from tests.rest.office import problem
from tests.rest.quoting import Quoting
from tests.rest.test_found_notes import PHOTOGRAPH
from tests.rest.working import at_work, book, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db

BY: Actor = make.OPERATOR
D = Decimal
Body = dict[str, Any]


def opening(quoting: Quoting, **changes: Any) -> Job:
    return at_work(quoting, booked(quoting, **changes), "opening_up")


def components(quoting: Quoting, job: Job) -> dict[str, JobComponent]:
    with quoting.office.scope():
        return {row.slug: row for row in JobComponent.objects.for_shop(quoting.shop).filter(job_id=job.pk).order_by("position")}


def opened(component: JobComponent, share: str, rotten: str) -> Body:
    """A share of a component opened, and a share of that rotten."""
    much = (component.exposure * D(share)).quantize(D("0.0001"))
    found = (much * D(rotten)).quantize(D("0.0001"))
    return {
        "component": component.slug, "construction": component.construction, "opened": str(much), "found": str(found),
        "note": "", "photographs": [],
    }  # fmt: skip


def look(quoting: Quoting, job: Job, *measured: Body, corrects: int | None = None, at: datetime = make.NOW) -> JobForecast:
    """The forecast after an opening entry that measured this."""
    with quoting.office.scope():
        held = held_job(quoting.shop, job.pk)
        assert held is not None
        entry = OpeningEntry(
            shop=quoting.shop, job=held, day=make.NOW.date(), marks={}, measured=list(measured), findings=[],
            corrects_id=corrects, created=at,
        )  # fmt: skip
        entry.save(force_insert=True)
        return forecast_after(shop=quoting.shop, job=held, by=BY, now=make.NOW, opening=entry)


def ordered(
    quoting: Quoting,
    job: Job,
    number: int,
    *,
    cause: str,
    kind: str,
    amount: str,
    covers: Sequence[str] = (),
    repairs: Sequence[tuple[JobComponent, str, str]] = (),
) -> None:
    """An order that was accepted an hour after the first look. A repair without an extent is the line of its parts."""
    with quoting.office.scope():
        order = ChangeOrder(
            shop=quoting.shop, job_id=job.pk, number=number, state="waiting", cause=cause, title="Invented",
            covers=list(covers), created=make.NOW,
        )  # fmt: skip
        order.save(force_insert=True)
        way = ChangeOrderWay(
            shop=quoting.shop, change_order=order, position=1, kind=kind, amount=D(amount), cost=D(0), authorised=D(0),
            authorised_with_tax=D(0), days=D(1),
        )  # fmt: skip
        way.save(force_insert=True)
        for position, (component, extent, its) in enumerate(repairs, start=1):
            ChangeOrderLine(
                shop=quoting.shop, way=way, position=position, kind="repair", slug=component.slug, name="Invented",
                quantity=D(extent or repairs[0][1]), unit=component.unit, price=component.unit_price, amount=D(its), cost=D(0),
                tax_class="labour",
                details={"construction": component.construction, "part": "labour" if extent else "parts"},
            ).save(force_insert=True)  # fmt: skip
        order.state, order.chosen, order.amount, order.consent_id = "accepted", 1, D(amount), job.consent_id
        order.decided_at = make.NOW + timedelta(hours=1)
        order.save(update_fields=["state", "chosen", "amount", "consent_id", "decided_at"])


def read(quoting: Quoting, job: Job, below: str = "forecast", role: str = MANAGER) -> Any:
    answer = quoting.office.get(f"jobs/{job.pk}/{below}", role=role)
    assert answer.status_code == 200, answer.content.decode()
    return answer.json()


class TestBeforeAnythingIsOpened:
    @pytest.mark.parametrize("basis", ["firm", "open"])
    def test_the_forecast_is_the_quotes_own(self, quoting: Quoting, basis: str) -> None:
        if basis == "open":
            quoting.own_edition("rule", "standard", price_basis="open")
        job = booked(quoting)
        quote = quoting.office.get(f"quotes/{job.quote_id}", role=MANAGER).json()
        told = read(quoting, job)

        assert (told["id"], told["created"], told["opening"]) == (None, None, None)
        assert (told["method"], told["effective"], told["found"]) == ("points", 4096.0, "0.00")
        with quoting.office.scope():
            kept = Quote.objects.for_shop(quoting.shop).get(pk=job.quote_id)
        # Three decimals are kept; a dollar has two.
        assert [D(told["cost"][name]) for name in ("p50", "p80", "p90")] == [kept.p50, kept.p80, kept.p90]
        assert (told["pot"], told["base"]) == (quote["amounts"]["contingency"], quote["amounts"]["base"])
        assert 1 - told["chance_over_limit"] == pytest.approx(kept.totals["coverage_share"], abs=0 if basis == "firm" else 1e-6)
        if basis == "firm":
            assert D(told["left"]) == kept.allowance
        assert told["warned"] is False

    def test_nothing_is_kept_by_asking(self, quoting: Quoting) -> None:
        job = booked(quoting)
        read(quoting, job)
        assert read(quoting, job, "forecasts")["results"] == []

    def test_the_steps_land_on_it(self, quoting: Quoting) -> None:
        why = read(quoting, booked(quoting), "forecast/why", ESTIMATOR)
        assert (why["of"], why["exact"], why["value"]) == ("forecast", True, why["stored"])


class TestWhileOpening:
    def test_a_sound_edge_lowers_what_is_expected_everywhere(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        before = read(quoting, job)
        forecast = look(quoting, job, opened(edge, "0.5", "0"))
        after = read(quoting, job)

        assert (after["id"], after["opening"], after["found"]) == (forecast.pk, forecast.opening_id, "0.00")
        assert D(after["left"]) < D(before["left"])
        assert after["chance_over_limit"] < before["chance_over_limit"]
        rows = {row["component"]: row for row in after["closed"]}
        assert D(rows["edge"]["opened"]) + D(rows["edge"]["left"]) == edge.exposure
        for row in after["closed"]:
            if D(row["left"]) > 0:
                assert row["chance_left"] < row["chance_before"]

    def test_a_rotten_edge_is_worth_its_unit_price_and_its_set_up(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        measured = opened(edge, "0.5", "0.4")
        look(quoting, job, measured)
        after = read(quoting, job)
        exact = D(measured["found"]) * edge.unit_price + edge.set_up
        assert abs(D(after["found"]) - exact) <= D("0.005")

    def test_looks_add_up_and_a_corrected_one_does_not_count(self, quoting: Quoting) -> None:
        job = opening(quoting)
        parts = components(quoting, job)
        wrong = look(quoting, job, opened(parts["edge"], "0.5", "1"))
        look(quoting, job, opened(parts["core"], "0.3", "0.1"))
        right = look(quoting, job, opened(parts["edge"], "0.5", "0"), corrects=wrong.opening_id)

        other = opening(quoting)
        alone = look(quoting, other, opened(parts["edge"], "0.5", "0"), opened(parts["core"], "0.3", "0.1"))
        for name in ("found", "left", "expected", "p50", "p80", "p90", "chance_over_limit", "effective", "closed"):
            assert getattr(right, name) == getattr(alone, name)

    def test_what_was_drawn_without_a_look_is_found_work(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        with quoting.office.scope():
            held = held_job(quoting.shop, job.pk)
            assert held is not None
            # 3 ft at the agreed price, rounded, with the set-up.
            work = (D(3) * edge.unit_price).quantize(D("0.01"))
            FoundNote(
                shop=quoting.shop, job=held, number=1, component="edge", construction=edge.construction, extent=D(3), unit="ft",
                unit_price=edge.unit_price, work=work, set_up=edge.set_up, amount=work + edge.set_up, material=D(0), left=D(0),
                left_by_component=[], photographs=[], created=make.NOW,
            ).save(force_insert=True)  # fmt: skip
            forecast = forecast_after(shop=quoting.shop, job=held, by=BY, now=make.NOW)
        assert (forecast.opening_id, forecast.effective) == (None, 4096.0)
        assert forecast.found == work + edge.set_up

    def test_the_history_is_told_newest_first_in_pages(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        kept = [look(quoting, job, opened(edge, "0.1", "0")).pk for _ in range(3)]
        first = read(quoting, job, "forecasts?limit=2")
        assert [row["id"] for row in first["results"]] == kept[:0:-1]
        assert "closed" not in first["results"][0]
        assert quoting.office.ask("GET", first["next"]).json()["results"][0]["id"] == kept[0]

    def test_hidden_work_that_is_ordered_may_be_drawn_and_all_else_is_work_at_a_price(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        # 10 ft at the agreed price are 400.00 here, their parts another 50.00; 500.00 are the owner's wish.
        ordered(
            quoting, job, 7, cause="beyond_pot", kind="repair", amount="450", repairs=[(edge, "10", "400"), (edge, "", "50")]
        )
        ordered(quoting, job, 8, cause="owner_wish", kind="repair", amount="500")
        with quoting.office.scope():
            held = held_job(quoting.shop, job.pk)
            assert held is not None
            known = working(quoting.shop, held)
        assert (known.terms.pot, known.terms.base) == (job.contingency + 450, job.base + 500)
        assert [look.ordered for look in known.looks] == [10.0]

    def test_what_the_owner_had_closed_up_costs_nothing_any_more(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        found = look(quoting, job, opened(edge, "0.5", "0.8"))
        ordered(quoting, job, 7, cause="beyond_pot", kind="close_up", amount="90", covers=["edge"])
        told = read(quoting, job)
        # Nothing was drawn nor ordered of it: all that was found is declined, and what is kept does not stand any more.
        assert found.found > 0
        assert (told["id"], told["found"]) == (None, "0.00")
        (row,) = [row for row in told["closed"] if row["component"] == "edge"]
        assert (row["declined"], row["ordered"], row["found_amount"]) == (row["found"], "0.0000", "0.00")
        # Closing up is work at a price, and nothing to draw.
        assert (D(told["base"]), D(told["pot"])) == (job.base + 90, job.contingency)
        why = read(quoting, job, "forecast/why")
        assert why["exact"] is True
        assert [step["value"] for step in why["steps"] if "not to be repaired so" in step["text"]] == [
            f"{D(row['found']):f}".rstrip("0").rstrip(".")
        ]

    def test_what_is_found_after_a_part_was_ordered_counts_again(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        look(quoting, job, opened(edge, "0.5", "0.8"))
        ordered(
            quoting, job, 7, cause="beyond_pot", kind="repair_part", amount="80", covers=["edge"], repairs=[(edge, "2", "80")]
        )
        part = read(quoting, job)
        look(quoting, job, opened(edge, "0.25", "0.4"), at=make.NOW + timedelta(hours=2))
        after = read(quoting, job)
        rows = [next(row for row in told["closed"] if row["component"] == "edge") for told in (part, after)]
        # 2 ft of what was found are ordered, the rest is declined; the second look found a tenth of the exposure more.
        assert [D(row["found"]) - D(row["declined"]) for row in rows] == [
            D(2),
            D(2) + (D(rows[1]["found"]) - D(rows[0]["found"])),
        ]
        more = D(rows[1]["found_amount"]) - D(rows[0]["found_amount"])
        # Both amounts are rounded, so their difference may be a cent off.
        assert abs(more - (D(rows[1]["found"]) - D(rows[0]["found"])) * edge.unit_price) < D("0.01")
        assert after["id"] is not None

    def test_one_that_was_kept_before_orders_were_told_apart_is_worked_out_anew(self, quoting: Quoting) -> None:
        job = opening(quoting)
        kept = look(quoting, job, opened(components(quoting, job)["edge"], "0.5", "0.2"))
        with quoting.office.scope():
            kept.pk = None
            kept.closed = [{name: row[name] for name in row if name not in ("ordered", "declined")} for row in kept.closed]
            kept.save(force_insert=True)
        told = read(quoting, job)
        assert (told["id"], told["found"]) == (None, f"{D(kept.found):.2f}")
        assert read(quoting, job, "forecast/why")["exact"] is True

    def test_a_ruin_is_worked_component_by_component(self, quoting: Quoting) -> None:
        job = opening(quoting)
        parts = components(quoting, job)
        ruin = [opened(parts[slug], "0.9", "1") for slug in ("edge", "core", "deck_splinters", "cap_backing", "fasteners")]
        forecast = look(quoting, job, *ruin)
        assert forecast.method == "conjugate"
        assert forecast.effective < 100
        assert read(quoting, job, "forecast/why")["exact"] is True


class TestTheWarning:
    def test_what_is_likely_to_pass_the_limit_drafts_one_change_order(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        first = look(quoting, job, opened(edge, "0.6", "0.9"))
        second = look(quoting, job, opened(edge, "0.2", "0.9"))

        assert first.chance_over_limit >= 0.5
        assert (first.warned, second.warned, second.change_order_id) == (True, True, None)
        with quoting.office.scope():
            (order,) = ChangeOrder.objects.for_shop(quoting.shop).filter(job_id=job.pk)
        assert order.pk == first.change_order_id
        assert (order.state, order.cause, order.component, order.number) == ("draft", "beyond_pot", "edge", 1)
        assert "edge" in order.covers
        assert second.not_drafted == "a change order for what goes beyond the pot stands already"
        # Of the edge what was found and is expected beyond its allowance, at the agreed price, to a hundredth of a foot.
        (row,) = [row for row in first.closed if row["component"] == "edge"]
        beyond = D(row["found_amount"]) + D(row["expected_left"]) - D(row["allowance"])
        (work,) = [work for work in order.request["body"]["ways"][0]["repairs"] if work["component"] == "edge"]
        assert D(work["extent"]) == (beyond / edge.unit_price).quantize(D("0.01"), rounding="ROUND_HALF_UP")
        shown = quoting.office.get(f"jobs/{job.pk}/change-orders/{order.pk}").json()
        assert [way["way"] for way in shown["ways"]] == ["repair", "stop"]
        assert D(shown["ways"][0]["price"]) > 0
        answer = read(quoting, job)
        assert answer["warned"] is True
        assert any("made-up shops" in words for words in answer["warning_limits"])

    def test_a_draft_that_was_thrown_away_is_drafted_again(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        first = look(quoting, job, opened(edge, "0.6", "0.9"))
        assert first.change_order_id is not None
        with quoting.office.scope():
            ChangeOrder.objects.for_shop(quoting.shop).filter(job_id=job.pk).update(state="withdrawn")
        second = look(quoting, job, opened(edge, "0.2", "0.9"))
        with quoting.office.scope():
            order = ChangeOrder.objects.for_shop(quoting.shop).get(job_id=job.pk, state="draft")
        assert (order.pk, order.number) == (second.change_order_id, 2)

    def test_the_level_is_the_shops(self, quoting: Quoting) -> None:
        quoting.own_edition("rule", "standard", warning_chance=0.95)
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        forecast = look(quoting, job, opened(edge, "0.4", "0.5"))
        assert forecast.warning_chance == 0.95
        assert 0.5 <= forecast.chance_over_limit < 0.95
        assert (forecast.warned, forecast.change_order_id) == (False, None)

    def test_a_job_that_is_only_booked_drafts_nothing(self, quoting: Quoting) -> None:
        job = booked(quoting)
        edge = components(quoting, job)["edge"]
        forecast = look(quoting, job, opened(edge, "0.6", "0.9"))
        assert (forecast.warned, forecast.change_order_id, forecast.not_drafted) == (True, None, "the job is not at work")


class TestWhoSeesWhat:
    def test_cost_is_for_managers_and_analysts(self, quoting: Quoting) -> None:
        job = opening(quoting)
        look(quoting, job, opened(components(quoting, job)["edge"], "0.2", "0.1"))
        for below in ("forecast", "forecasts"):
            told = {role: read(quoting, job, below, role) for role in (ESTIMATOR, MANAGER, ANALYST)}
            rows = {role: answer["results"][0] if below == "forecasts" else answer for role, answer in told.items()}
            assert "cost" not in rows[ESTIMATOR]
            assert rows[MANAGER]["cost"] == rows[ANALYST]["cost"]
            assert rows[MANAGER] == {**rows[ESTIMATOR], "cost": rows[MANAGER]["cost"]}

    def test_the_steps_hide_what_the_job_costs_the_shop_from_an_estimator(self, quoting: Quoting) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        measured = opened(edge, "0.5", "0.25")
        look(quoting, job, measured)
        mine, theirs = read(quoting, job, "forecast/why", ESTIMATOR), read(quoting, job, "forecast/why", MANAGER)
        assert [step["text"] for step in mine["steps"]] == [step["text"] for step in theirs["steps"]]
        hidden = {step["text"] for step in mine["steps"] if step["value"] == "for managers and analysts"}
        assert hidden == {"final cost that 8 jobs in 10 like this stay within", "chance that the final cost passes it"}

        # Patches of 4 ft: half the exposure, a quarter of it rotten.
        steps = {step["text"]: step["value"] for step in theirs["steps"]}
        name = edge.name
        assert steps[f"{name}: opened so far"].rstrip("0") == measured["opened"].rstrip("0").rstrip(".")
        n = float(measured["opened"]) / 4
        assert float(steps[f"{name}: patches opened (n), at 4 ft each"]) == pytest.approx(n, abs=1e-4)
        assert float(steps[f"{name}: of them rotten (k)"]) == pytest.approx(n / 4, abs=1e-4)
        assert theirs["exact"] is True

    def test_no_such_job_is_not_found(self, quoting: Quoting) -> None:
        for path in ("jobs/999999/forecast", "jobs/999999/forecasts", "jobs/999999/forecast/why"):
            assert problem(quoting.office.get(path), 404)["code"] == "not_found"


class TestQueries:
    def test_a_forecast_takes_as_many_queries_however_many_looks_there_are(
        self, quoting: Quoting, django_assert_num_queries: Any
    ) -> None:
        job = opening(quoting)
        edge = components(quoting, job)["edge"]
        for _ in range(2):
            look(quoting, job, opened(edge, "0.05", "0"))
            with quoting.office.scope():
                held = held_job(quoting.shop, job.pk)
                assert held is not None
                # Components, quote, openings, draws, orders with what they repair, and the insert.
                with django_assert_num_queries(7):
                    forecast_after(shop=quoting.shop, job=held, by=BY, now=make.NOW)

    def test_it_is_only_ever_added_to(self, quoting: Quoting) -> None:
        job = opening(quoting)
        kept = look(quoting, job, opened(components(quoting, job)["edge"], "0.1", "0"))
        with quoting.office.scope(), pytest.raises(Exception, match="permission denied"):
            JobForecast.objects.for_shop(quoting.shop).filter(pk=kept.pk).update(warned=True)


class TestTheRoofOfThePage:
    """DEVELOPERS.md section 1: visible work 3,491.79, one frame of 87.7112 and a set-up of 50.00, 137.71 set aside."""

    def test_a_rotten_frame_takes_the_whole_pot_and_no_more(self, small: SmallShop) -> None:
        job = frame_opened(small, "rotten")
        told = read(small, job)

        assert (told["base"], told["pot"], told["limit"]) == ("3491.79", "137.71", "3629.50")
        # 137.7112 is the pot to the cent, so the limit is not passed.
        assert (told["found"], told["left"], told["chance_over_limit"], told["warned"]) == ("137.71", "0.00", 0.0, False)
        # (3491.79 + 137.7112) x exp(0.12^2 / 2) = 3655.73. The survey was walked: its spread of .08 has mean 1, so the middle
        # lies at 3629.5012 x exp(-0.08^2 / 2) = 3617.91.
        assert (told["cost"]["expected"], told["cost"]["p50"]) == ("3655.73", "3617.91")
        (row,) = told["closed"]
        assert (row["opened"], row["found"], row["left"]) == ("1.0000", "1.0000", "0.0000")
        # Rotten at 1,229 of 4,096 points before.
        assert (row["chance_before"], row["chance_left"]) == (1229 / 4096, 0.0)

    def test_a_sound_frame_leaves_nothing_to_doubt(self, small: SmallShop) -> None:
        told = read(small, frame_opened(small, "sound"))
        assert (told["found"], told["left"], told["chance_over_limit"]) == ("0.00", "0.00", 0.0)
        # 3491.79 x 1.00722597 = 3517.02
        assert told["cost"]["expected"] == "3517.02"


def frame_opened(small: SmallShop, condition: str) -> Job:
    """The job of the page after its other vent's frame was looked at, over the API."""
    job = at_work(small, booked(small), "opening_up")
    entry = {
        "day": "2026-03-02",
        "rings": [{"section": "main", "opening": "rear vent"}],
        "found": [{"component": "opening_frame", "condition": condition, "photographs": [PHOTOGRAPH]}],
    }
    answer = small.office.post(f"jobs/{job.pk}/openings", entry)
    assert answer.status_code == 201, answer.content.decode()
    return job


def test_the_framed_sample_hears_of_its_deck(quoting: Quoting) -> None:
    quote = quoting.posted(quoting.framed_body()).json()
    assert quoting.issue(quote["id"]).status_code == 200
    job = at_work(quoting, book(quoting, quote["id"]), "opening_up")
    deck = components(quoting, job)["deck"]
    forecast = look(quoting, job, opened(deck, "0.3", "0.3"))
    rows = {row["component"]: row for row in forecast.closed}
    assert rows["edge"]["chance_left"] > rows["edge"]["chance_before"]
    assert rows["deck"]["chance_left"] == pytest.approx(1.0)
