"""What has a shop done in years: its quotes, its jobs, open and closed, and all that was logged, found, ordered and billed?

Everything that reports read, filled from one job of a template shop. All shops have the same jobs, the newest first: so many
open ones, which stay as many however long a history is, so many that were closed this year, and the others before it.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import uuid4

from django.utils import timezone

from quotes.models import Job, JobComponent, JobForecast, OpeningEntry, Payment
from tests.benchmarks.many_shops import Service, own
from tests.rest.quoting import Quoting
from tests.rest.reviewing import as_planned, closed, component, drawn, logged, opened, ordered
from tests.rest.working import booked

DAY, BEFORE = date(2026, 10, 1), date(2025, 12, 31)
TABLES = (
    "quotes_quote", "quotes_job", "quotes_jobcomponent", "quotes_openingentry", "quotes_foundnote", "quotes_ledgerentry",
    "quotes_bill", "quotes_payment", "quotes_jobforecast", "quotes_changeorder", "quotes_changeorderway", "quotes_closedjob",
    "quotes_review",
)  # fmt: skip
# Numbers as they would have been given: later jobs have higher ones, and those of all shops go among each other.
_ID = "(900000000 - n * 1000 + s.id % 1000)"
# Jobs of four tiers, in turns; every other one of which no subcontractor cost more.
_TIER = "(ARRAY['skin-deep', 'local', 'widespread', 'frame'])[n % 4 + 1]"
_SMALL = {"atoms": "'{}'", "totals": "'{}'", "told": "'{}'", "request": "'{}'", "inputs": "'{}'", "factors": "'{}'"}


@dataclass(frozen=True, slots=True)
class History:
    """What is copied, and how the copies lie in time: the first `open` jobs are open, so many after them closed this year."""

    part: JobComponent
    open: int
    this_year: int

    @property
    def begun(self) -> str:
        """When job number n began, as SQL."""
        return (
            f"CASE WHEN n <= {self.open + self.this_year} THEN timestamptz '{DAY}' ELSE '{BEFORE}' END - n * interval '1 day'"
        )

    @property
    def closed_on(self) -> str:
        """The day on which job number n was closed, as SQL."""
        day = f"CASE WHEN n <= {self.open + self.this_year} THEN date '{DAY}' ELSE '{BEFORE}' END - n"
        return f"CASE WHEN n <= {self.open} THEN NULL ELSE {day} END"


def template(quoting: Quoting, *, open: int, this_year: int) -> History:
    """Makes one job that cost too much, with a row of everything that reports read."""
    job = booked(quoting)
    as_planned(quoting, job)
    logged(quoting, job, kind="subcontract", cost=Decimal(9000))
    closed(quoting, job)
    entry = opened(quoting, job, opened="8", found="3.5")
    drawn(quoting, job, Decimal(1))
    ordered(quoting, job, "owner_wish", state="waiting")
    part = component(quoting, job)
    with quoting.office.scope():
        _forecast(quoting, job, entry)
        Payment.objects.for_shop(quoting.shop).create(
            shop=quoting.shop, job=job, client_id=uuid4(), kind="payment", payer="owner", day=DAY, way="transfer",
            amount=Decimal(100), created=timezone.now(),
        )  # fmt: skip
    return History(part, open, this_year)


def _forecast(quoting: Quoting, job: Job, entry: OpeningEntry) -> None:
    amounts = {name: Decimal(9000) for name in ("base", "pot", "limit", "found", "left", "expected", "p50", "p80", "p90")}
    chances = {name: 0.5 for name in ("chance_over_limit", "chance_over_pot", "chance_cost_over_limit", "warning_chance")}
    JobForecast.objects.for_shop(quoting.shop).create(
        shop=quoting.shop, job=job, opening=entry, method="points", effective=900.0, closed=[], warned=False,
        created=timezone.now(), **amounts, **chances,
    )  # fmt: skip


def belongings(service: Service) -> None:
    """What a shop has one of: a coach, a survey, a cost base, a consent."""
    for table, below in (
        ("quotes_coach", {}),
        ("quotes_survey", {"coach_id": own("quotes_coach")}),
        ("quotes_frozencostbase", {}),
    ):
        service.copied(table, "(SELECT 1) AS once", **below)


def fill(service: Service, one: History, first: int, last: int) -> None:
    """The jobs number `first` to `last` of every shop, with their quotes and all that belongs to them."""
    series = f"generate_series({first}, {last}) AS n"
    _quotes(service, one, series)
    if first == 1:
        service.copied("quotes_consent", "(SELECT 1) AS once", quote_id=_ID.replace("n", "1"))
    service.copied(
        "quotes_job", series, id=_ID, number="'J-' || n", quote_id=_ID, coach_id=own("quotes_coach"),
        consent_id=own("quotes_consent"), cost_base_id=own("quotes_frozencostbase"), totals="'{}'", created=one.begun,
        closed_on=one.closed_on, state=f"CASE WHEN n <= {one.open} THEN 'rebuilding' ELSE 'settled' END",
    )  # fmt: skip
    service.copied("quotes_jobcomponent", series, f"t.id = {one.part.pk}", job_id=_ID)
    for table in ("quotes_openingentry", "quotes_foundnote"):
        service.copied(table, series, job_id=_ID, **({"opening_id": "NULL"} if table == "quotes_foundnote" else {}))
    few = (
        f"t.id IN (SELECT x.id FROM quotes_ledgerentry AS x WHERE x.shop_id = {service.quoting.shop.pk} ORDER BY x.id LIMIT 3)"
    )
    service.copied("quotes_ledgerentry", series, few, job_id=_ID)
    service.copied("quotes_bill", series, job_id=_ID, number="'R-' || n", document="'{}'")
    service.copied("quotes_payment", series, job_id=_ID, client_id="gen_random_uuid()")
    service.copied("quotes_jobforecast", series, job_id=_ID, opening_id="NULL")
    _orders(service, one, series)
    _books(service, one, series)
    for table in TABLES:
        service.run(f"VACUUM ANALYZE {table}")


def _quotes(service: Service, one: History, series: str) -> None:
    """An accepted quote for every job, and one that was declined for every other."""
    below = {"coach_id": own("quotes_coach"), "survey_id": own("quotes_survey"), "cost_base_id": own("quotes_frozencostbase")}
    said = {**_SMALL, **below, "tier": _TIER, "issued_at": one.begun, "created": one.begun}
    service.copied("quotes_quote", series, id=_ID, number="'Q-' || n", state="'accepted'", **said)
    service.copied("quotes_quote", series, "n % 2 = 0", number="'D-' || n", state="'declined'", **said)


def _orders(service: Service, one: History, series: str) -> None:
    """An order of every job; of open ones it waits."""
    decided = {"decided_at": f"CASE WHEN n <= {one.open} THEN NULL ELSE {one.begun} END", "sent_at": one.begun}
    state = f"CASE WHEN n <= {one.open} THEN 'waiting' ELSE 'declined' END"
    service.copied("quotes_changeorder", series, id=_ID, job_id=_ID, state=state, **decided)
    service.copied("quotes_changeorderway", series, change_order_id=_ID)


def _books(service: Service, one: History, series: str) -> None:
    """The closed books of every job that is closed, and its review."""
    within = "n % 2 = 0"
    service.copied(
        "quotes_closedjob", series, f"n > {one.open}", job_id=_ID, quote_id=_ID, number="'J-' || n", closed_on=one.closed_on,
        tier=_TIER, estimator="n % 5", cost_subcontract=f"CASE WHEN {within} THEN 0 ELSE t.cost_subcontract END",
        actual_cost=f"CASE WHEN {within} THEN t.actual_cost - t.cost_subcontract ELSE t.actual_cost END",
        margin=f"CASE WHEN {within} THEN t.margin + t.cost_subcontract ELSE t.margin END",
    )  # fmt: skip
    service.copied("quotes_review", series, f"n > {one.open}", job_id=_ID)
