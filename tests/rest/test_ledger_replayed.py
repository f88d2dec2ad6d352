"""Whatever was logged, corrected and sent again: what the database sums is what the entries say, one by one."""

import uuid
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quotes.models import LedgerEntry
from quotes.reports.hours import payroll
from quotes.reports.ledger import costs_of, hours_of, not_quoted
from tests.rest.ledgers import Body, Logging
from tests.rest.quoting import Clock, Quoting

pytestmark = pytest.mark.django_db

D = Decimal
HOURS = st.integers(1, 8).map(lambda quarters: str(D(quarters) / 4))
PLACES = st.sampled_from([{}, {"assembly": "leak-test"}, {"component": "deck"}, {"line": 3}])
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("time"), HOURS, PLACES),
        st.tuples(st.just("other_hours"), HOURS, st.just({"reason": "cleaning"})),
        st.tuples(st.just("issued"), HOURS, st.just({"material": "framing-strip-2-by-2-in"})),
        st.tuples(st.just("returned"), HOURS, st.just({"material": "framing-strip-2-by-2-in"})),
        st.tuples(st.just("correct"), st.integers(0, 9), st.booleans()),
        st.tuples(st.just("again"), st.integers(0, 9), st.none()),
    ),
    min_size=1,
    max_size=12,
)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS)
def test_the_ledger_replays_to_the_same_state(quoting: Quoting, clock: Clock, steps: list[tuple[str, Any, Any]]) -> None:
    logging = known(quoting, clock)
    worker = logging.add_worker()
    sent: list[Body] = []
    for what, figure, more in steps:
        do(logging, worker, sent, what, figure, more)

    with logging.office.scope():
        rows = list(LedgerEntry.objects.for_shop(logging.shop).order_by("pk"))
        costs = costs_of(logging.shop, [logging.job.pk])[logging.job.pk]
        worked = hours_of(logging.shop, logging.job.pk)
        stray = not_quoted(logging.shop, job_id=logging.job.pk)
        pays = payroll(logging.shop, rows[0].day, rows[0].day)
    of_job = [row for row in rows if row.job_id == logging.job.pk]
    assert costs.total.cost == sum((row.cost for row in of_job), D(0))
    assert costs.total.value == sum((row.value for row in of_job), D(0))
    hours = sum((row.quantity for row in of_job if row.kind == "time"), D(0))
    assert costs.total.hours == hours == sum((each.hours for each in worked), D(0))
    for line, told in costs.by_line.items():
        assert told.cost == sum((row.cost for row in of_job if row.line == line), D(0))
    nowhere = [row for row in of_job if row.line is None and not row.component]
    assert costs.not_quoted.cost == sum((row.cost for row in nowhere), D(0)) == sum((each.cost for each in stray), D(0))
    # Payroll hours are job hours and other hours, and both are all hours that were logged.
    logged = sum((row.quantity for row in rows if row.kind in ("time", "other_hours")), D(0))
    assert sum((pay.on_jobs + pay.other for pay in pays), D(0)) == logged == sum((pay.payroll for pay in pays), D(0))
    # Each entry stands once, and what was taken back comes to nothing.
    assert len({row.client_id for row in rows}) == len(rows)
    by_id = {row.pk: row for row in rows}
    for row in rows:
        if row.corrects_id is not None:
            assert (by_id[row.corrects_id].quantity, by_id[row.corrects_id].cost) == (-row.quantity, -row.cost)


_known: dict[int, Logging] = {}


def known(quoting: Quoting, clock: Clock) -> Logging:
    """One job for all examples of a test; entries of earlier ones stay, as in any ledger."""
    if id(quoting) not in _known:
        _known[id(quoting)] = Logging(quoting, clock)
    return _known[id(quoting)]


def do(logging: Logging, worker: int, sent: list[Body], what: str, figure: Any, more: Any) -> None:
    if what == "again":
        if sent:
            logging.logged(sent[figure % len(sent)])
    elif what == "correct":
        rows = [row for row in logging.ledger() if row["corrects"] is None]
        if rows:
            body: Body = {"client_id": str(uuid.uuid4()), "note": "slip"}
            if more:
                body["entry"] = logging.entry("time", worker=worker, hours="0.25", job=logging.job.pk)
            logging.office.post(f"entries/{rows[figure % len(rows)]['id']}/correction", body)
    else:
        size = {"worker": worker, "hours": figure} if what in ("time", "other_hours") else {"quantity": figure}
        sent.append(logging.entry(what, **size, **more))
        logging.logged(sent[-1])
