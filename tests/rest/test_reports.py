"""Reports over closed jobs and over what waits: who reads them, what they count, and how they leave as tables."""

import csv
import io
import zipfile
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from api.rest.report_files import guarded
from quotes.models import ClosedJob, Job, JobComponent, OpeningEntry
from quotes.reports.review.intervals import binomial_interval
from tests.make import NOW
from tests.rest.office import Office, problem
from tests.rest.quoting import Quoting
from tests.rest.reviewing import as_planned, closed, drawn, logged, opened, ordered
from tests.rest.working import booked

pytestmark = pytest.mark.django_db
D = Decimal
PATHS = (
    "reports/over-budget", "reports/over-limit", "reports/quoted-final", "reports/causes", "reports/coverage",
    "reports/win-rate", "reports/waiting-change-orders", "reports/unbilled-findings", "reports/open-jobs",
)  # fmt: skip


def over(quoting: Quoting, cost: str = "9000.00") -> ClosedJob:
    """A closed job of which a subcontractor cost too much."""
    job = booked(quoting)
    as_planned(quoting, job)
    logged(quoting, job, kind="subcontract", cost=D(cost))
    return closed(quoting, job)


def results(quoting: Quoting, path: str, **kwargs: Any) -> list[dict[str, Any]]:
    answer = quoting.office.get(path, **kwargs)
    assert answer.status_code == 200, answer.content
    found: list[dict[str, Any]] = answer.json()["results"]
    return found


def body(answer: Any) -> bytes:
    assert answer.status_code == 200
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


@pytest.mark.parametrize("path", PATHS)
def test_analysts_read_every_report_and_estimators_their_own_finals_only(quoting: Quoting, path: str) -> None:
    assert quoting.office.get(path, role=ANALYST).status_code == 200
    answer = quoting.office.get(path, role=ESTIMATOR)
    assert answer.status_code == (200 if path == "reports/quoted-final" else 403)


def test_a_job_over_budget_says_by_how_much_and_why(quoting: Quoting) -> None:
    row = over(quoting)
    (shown,) = results(quoting, "reports/over-budget")
    assert (shown["job"], shown["number"], shown["closed_on"]) == (row.job_id, row.number, row.closed_on.isoformat())
    assert (shown["main_cause"], shown["main_cause_amount"]) == ("subcontract", "9000.00")
    assert D(shown["over"]) == row.actual_cost - row.planned_cost
    assert D(shown["margin"]) == row.billed - row.actual_cost
    assert shown["review"] == "open"


def test_a_job_within_budget_is_not_listed(quoting: Quoting) -> None:
    job = booked(quoting)
    as_planned(quoting, job)
    closed(quoting, job)
    assert results(quoting, "reports/over-budget") == []
    assert len(results(quoting, "reports/quoted-final")) == 1


def test_the_newest_closing_of_a_job_holds(quoting: Quoting) -> None:
    row = over(quoting)
    logged(quoting, Job(pk=row.job_id), kind="subcontract", cost=D("10.00"))
    newest = closed(quoting, Job(pk=row.job_id), why="late_entry")
    (shown,) = results(quoting, "reports/over-budget")
    assert D(shown["actual_cost"]) == newest.actual_cost == row.actual_cost + 10


@pytest.mark.parametrize(
    ("query", "there"),
    [
        ("cause=subcontract", True), ("cause=warranty&least=1", False), ("least=1", True), ("least=100000", False),
        ("tier=skin-deep", False), ("estimator=999999", False), ("closed_from=2999-01-01", False),
        ("closed_to=2999-01-01", True), ("plan=full-rebuild&construction=metal", False),
    ],
)  # fmt: skip
def test_filters_choose_jobs_over_budget(quoting: Quoting, query: str, there: bool) -> None:
    over(quoting)
    assert bool(results(quoting, f"reports/over-budget?{query}")) is there


@pytest.mark.parametrize("query", ["least=-1", "least=1e3", "cause=bad", "format=pdf", "closed_from=yesterday", "tier=bad"])
def test_filters_that_do_not_fit_are_refused(quoting: Quoting, query: str) -> None:
    assert problem(quoting.office.get(f"reports/over-budget?{query}"), 400)["code"] == "bad_parameter"


def test_an_unknown_filter_is_refused(quoting: Quoting) -> None:
    assert problem(quoting.office.get("reports/causes?colour=red"), 400)["code"] == "unknown_parameter"


def test_no_job_is_billed_more_than_was_authorised(quoting: Quoting) -> None:
    job = booked(quoting)
    drawn(quoting, job, D(1))
    closed(quoting, job)
    assert results(quoting, "reports/over-limit") == []


def test_a_bill_above_the_limit_would_show(quoting: Quoting) -> None:
    row = over(quoting)
    values = {field.attname: getattr(row, field.attname) for field in ClosedJob._meta.concrete_fields if field.name != "id"}
    with quoting.office.scope():
        ClosedJob.objects.for_shop(quoting.shop).create(**{**values, "seq": 2, "authorised_with_tax": D(1)})
    (shown,) = results(quoting, "reports/over-limit")
    assert (shown["authorised_with_tax"], shown["job"]) == ("1.00", row.job_id)


def test_causes_add_up_to_everything_that_cost_more(quoting: Quoting) -> None:
    over(quoting)
    over(quoting, "1000.00")
    found = results(quoting, "reports/causes")
    first = found[0]
    assert (first["cause"], first["amount"], first["jobs"]) == ("subcontract", "10000.00", 2)
    assert [row["amount"] for row in found] == sorted((row["amount"] for row in found), key=D, reverse=True)
    adverse = [row for row in found if D(row["amount"])]
    assert adverse[-1]["cumulative_share"] == "1.0000"


def test_coverage_is_told_of_the_bill_and_of_the_cost(quoting: Quoting) -> None:
    over(quoting)  # inside the limit; the subcontractor has no value at the quote's prices here, so inside P80 as well
    whole, tier, estimator = results(quoting, "reports/coverage")
    assert (whole["by"], whole["jobs"], whole["inside_limit"], whole["limit_share"]) == ("all", 1, 1, "1.0000")
    # One of one: Beta(2, 1), whose 2.5 % point is the root of 0.025 and its 97.5 % point that of 0.975.
    assert (whole["limit_low"], whole["limit_high"]) == ("0.1581", "0.9874")
    assert (tier["by"], estimator["by"]) == ("tier", "estimator")


def test_a_binomial_interval_is_the_published_one() -> None:
    # 437 of 980. Source: Gelman and others, Bayesian Data Analysis, section 2.4: Beta(438, 544), 95 % from .415 to .477.
    low, high = binomial_interval(437, 980)
    assert low == pytest.approx(0.41506549, abs=1e-8)
    assert high == pytest.approx(0.47719977, abs=1e-8)


def test_an_estimator_sees_quotes_of_his_own_without_cost(quoting: Quoting) -> None:
    row = over(quoting)
    everything = results(quoting, "reports/quoted-final")[0]
    assert "margin" in everything
    mine = results(quoting, "reports/quoted-final", role=ESTIMATOR)
    assert [one["job"] for one in mine] in ([], [row.job_id])
    head = body(quoting.office.get("reports/quoted-final?format=csv", role=ESTIMATOR)).decode().splitlines()[0]
    assert "cost" not in head
    assert "margin" not in head


def test_win_rates_stand_beside_margins(quoting: Quoting) -> None:
    booked(quoting)
    quoting.issued()
    (row,) = results(quoting, "reports/win-rate")
    assert (row["issued"], row["accepted"], row["declined"], row["win_rate"]) == (2, 1, 0, "0.5000")
    assert 0 < D(row["margin_share"]) < 1
    assert results(quoting, "reports/win-rate?issued_to=2001-01-01") == []
    assert results(quoting, "reports/win-rate?estimator=999999") == []
    assert results(quoting, "reports/win-rate?issued_from=0001-01-01&issued_to=9999-12-31") == [row]


def test_rot_that_was_found_and_not_billed_is_listed(quoting: Quoting) -> None:
    job = booked(quoting)
    entry = opened(quoting, job, opened="2", found="1.5")
    (row,) = results(quoting, "reports/unbilled-findings")
    component = entry.measured[0]["component"]
    assert (row["job"], row["component"], row["left"], row["waiting"]) == (job.pk, component, "1.5000", False)
    assert D(row["amount"]) == (D("1.5") * D(row["unit_price"])).quantize(D("0.01"))
    drawn(quoting, job, D(1))
    assert results(quoting, "reports/unbilled-findings")[0]["left"] == "0.5000"


@pytest.mark.parametrize("state", ["accepted", "declined"])
def test_what_an_order_was_made_for_is_dealt_with_there(quoting: Quoting, state: str) -> None:
    job = booked(quoting)
    slug = opened(quoting, job, opened="2", found="1.5").measured[0]["component"]
    ordered(quoting, job, "beyond_pot", slug=slug, state=state)
    assert results(quoting, "reports/unbilled-findings") == []


def test_findings_of_closed_jobs_are_asked_for_by_day(quoting: Quoting) -> None:
    job = booked(quoting)
    opened(quoting, job, opened="2", found="1.5")
    with quoting.office.scope():
        Job.objects.for_shop(quoting.shop).filter(pk=job.pk).update(closed_on=date(2026, 3, 1))
    assert results(quoting, "reports/unbilled-findings") == []
    assert len(results(quoting, "reports/unbilled-findings?closed_from=2026-03-01")) == 1
    assert results(quoting, "reports/unbilled-findings?closed_from=2026-03-02") == []


def test_findings_come_page_by_page_the_newest_job_first(quoting: Quoting) -> None:
    jobs = [booked(quoting), booked(quoting)]
    for job in jobs:
        with quoting.office.scope():
            parts = JobComponent.objects.for_shop(quoting.shop).filter(job_id=job.pk).order_by("slug")[:2]
            measured = [
                {"component": part.slug, "construction": part.construction, "opened": "4", "found": "3"} for part in parts
            ]
            OpeningEntry.objects.for_shop(quoting.shop).create(
                shop=quoting.shop, job=job, day=date(2026, 3, 2), marks=[], measured=measured, findings=[], created=NOW
            )
    whole = results(quoting, "reports/unbilled-findings")
    assert [row["job"] for row in whole] == [jobs[1].pk, jobs[1].pk, jobs[0].pk, jobs[0].pk]
    assert [row["component"] for row in whole[:2]] == sorted((row["component"] for row in whole[:2]), reverse=True)
    paged, path = [], "reports/unbilled-findings?limit=1"
    while path:
        page = quoting.office.get(path).json()
        paged += page["results"]
        path = page["next"]
    assert paged == whole
    lines = list(csv.DictReader(io.StringIO(body(quoting.office.get("reports/unbilled-findings?format=csv")).decode())))
    assert [(line["job"], line["component"]) for line in lines] == [(str(row["job"]), row["component"]) for row in whole]


def test_orders_wait_the_oldest_first(quoting: Quoting) -> None:
    job = booked(quoting)
    for days in (2, 9, 4):
        ordered(quoting, job, "owner_wish", amount=100 + days, state="waiting", days=days)
    found = results(quoting, "reports/waiting-change-orders")
    assert [row["days_waiting"] for row in found] == [9, 4, 2]
    assert (found[0]["least"], found[0]["most"], found[0]["job_number"]) == ("109.00", "109.00", job.number)
    page = quoting.office.get("reports/waiting-change-orders?limit=2").json()
    assert len(page["results"]) == 2
    assert [row["days_waiting"] for row in results(quoting, page["next"])] == [2]


def test_an_open_job_shows_what_it_is_worth_and_what_it_took(quoting: Quoting) -> None:
    job = booked(quoting)
    logged(quoting, job, kind="time", trade="technician", quantity=D(2), unit="h", cost=D("90.00"), value=D("220.00"))
    ordered(quoting, job, "owner_wish", state="waiting", days=3)
    (row,) = results(quoting, "reports/open-jobs")
    assert (row["job"], row["earned"], row["cost_to_date"], row["days_waiting"]) == (job.pk, "220.00", "90.00", 3)
    assert (row["billed_with_tax"], row["paid"]) == ("0.00", "0.00")
    assert D(row["authorised"]) == job.limit
    assert D(row["margin_at_risk"]) == max(D(0), D(row["forecast_p80"]) - job.limit)
    with quoting.office.scope():
        Job.objects.for_shop(quoting.shop).filter(pk=job.pk).update(closed_on=date(2026, 3, 1))
    assert results(quoting, "reports/open-jobs") == []


def test_another_shop_has_reports_of_its_own(quoting: Quoting, elsewhere: Office) -> None:
    over(quoting)
    for path in PATHS:
        assert elsewhere.get(path).json()["results"] == []
    assert body(elsewhere.get("reports/over-budget?format=csv")).count(b"\n") == 1


def test_a_table_is_streamed_from_a_scope_of_its_own(quoting: Quoting) -> None:
    row = over(quoting)
    answer = quoting.office.get("reports/over-budget?format=csv")
    assert answer.streaming
    assert answer["Content-Type"].startswith("text/csv")
    (line,) = csv.DictReader(io.StringIO(body(answer).decode()))
    assert (line["number"], line["main_cause"]) == (row.number, "subcontract")
    assert D(line["over"]) == row.actual_cost - row.planned_cost
    # The rows that JSON has, under the same names.
    (shown,) = results(quoting, "reports/over-budget")
    assert list(line) == list(OVER_BUDGET)
    assert line == {name: str(value) for name, value in shown.items()}


OVER_BUDGET = (
    "job", "number", "closed_on", "estimator", "tier", "plan", "construction", "currency", "planned_cost", "actual_cost",
    "over", "billed", "planned_margin", "margin", "main_cause", "main_cause_amount", "review",
)  # fmt: skip


@pytest.mark.parametrize("path", PATHS)
def test_every_report_leaves_as_a_table(quoting: Quoting, path: str) -> None:
    over(quoting)
    job = booked(quoting)
    opened(quoting, job, opened="2", found="1.5")
    rows = results(quoting, path)
    lines = list(csv.DictReader(io.StringIO(body(quoting.office.get(path, headers={"Accept": "text/csv"})).decode())))
    assert len(lines) == len(rows)
    for line, row in zip(lines, rows, strict=True):
        assert set(line) == set(row)
    assert len(list(cells(body(quoting.office.get(f"{path}?format=xlsx"))))) == len(rows) + 1


def cells(workbook: bytes) -> Iterator[list[Any]]:
    """The rows of a workbook's only sheet, read with nothing but the standard library."""
    space = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    with zipfile.ZipFile(io.BytesIO(workbook)) as parts:
        sheet = ElementTree.fromstring(parts.read("xl/worksheets/sheet1.xml"))
    for row in sheet.iter(f"{space}row"):
        yield [
            ("text", "".join(cell.itertext())) if cell.get("t") == "inlineStr" else ("number", "".join(cell.itertext()))
            for cell in row.iter(f"{space}c")
        ]


def test_a_workbook_has_numbers_as_numbers_and_texts_as_texts(quoting: Quoting) -> None:
    over(quoting)
    head, line = cells(body(quoting.office.get("reports/over-budget?format=xlsx")))
    found = dict(zip([name for _, name in head], line, strict=True))
    assert found["main_cause_amount"] == ("number", "9000")
    assert found["main_cause"] == ("text", "subcontract")


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ("=1+1", "'=1+1"), ("+1 555", "'+1 555"), ("@sum", "'@sum"), ("-cmd", "'-cmd"), ("\tx", "'\tx"), ("\rx", "'\rx"),
        ("-12.50", "-12.50"), ("12.50", "12.50"), ("--1", "'--1"), ("-1.2.3", "'-1.2.3"), ("-", "'-"), ("deck", "deck"),
        (None, ""), (True, "yes"), ("-1+1", "'-1+1"),
    ],
)  # fmt: skip
def test_no_cell_is_taken_for_a_formula(value: object, cell: str) -> None:
    assert guarded(value) == cell


def test_a_title_that_would_be_a_formula_leaves_as_text(quoting: Quoting) -> None:
    job = booked(quoting)
    ordered(quoting, job, "owner_wish", state="waiting", title="=HYPERLINK(1)")
    (line,) = csv.DictReader(io.StringIO(body(quoting.office.get("reports/waiting-change-orders?format=csv")).decode()))
    assert line["title"] == "'=HYPERLINK(1)"
    _, row = cells(body(quoting.office.get("reports/waiting-change-orders?format=xlsx")))
    assert ("text", "'=HYPERLINK(1)") in row


@pytest.mark.parametrize("path", PATHS)
def test_a_report_takes_as_many_queries_for_many_jobs_as_for_one(quoting: Quoting, path: str) -> None:
    asked = []
    for _ in range(2):
        over(quoting)
        job = booked(quoting)
        opened(quoting, job, opened="2", found="1.5")
        ordered(quoting, job, "owner_wish", state="waiting")
        with CaptureQueriesContext(connection) as seen:
            results(quoting, path)
        asked.append(len(seen))
    assert asked[0] == asked[1] <= 12
