"""What is agreed when an offer becomes a job, and that it stays."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from quotes.calc.consent import broken_links
from quotes.models import Consent, Job, JobComponent, JobLine, QuoteComponent, QuoteLine
from quotes.reports.consents import hashed_fields
from tests.rest.quoting import Quoting
from tests.rest.working import at_work, booked

pytestmark = pytest.mark.django_db


def rows(model: Any, quoting: Quoting, **of: int) -> list[dict[str, Any]]:
    drop = {"id", "shop_id", "quote_id", "job_id"}
    found = model.objects.for_shop(quoting.shop).filter(**of).order_by("position").values()
    return [{name: value for name, value in row.items() if name not in drop} for row in found]


def test_a_job_has_the_lines_and_components_of_its_quote(quoting: Quoting) -> None:
    job = booked(quoting)
    with quoting.office.scope():
        assert rows(JobLine, quoting, job=job.pk) == rows(QuoteLine, quoting, quote=job.quote_id)
        assert rows(JobComponent, quoting, job=job.pk) == rows(QuoteComponent, quoting, quote=job.quote_id)
        assert (job.number[:2], job.state, job.authorised, job.authorised_with_tax) == (
            "J-", "booked", job.limit, job.limit_with_tax,
        )  # fmt: skip


def test_a_limit_does_not_move_without_a_consent(quoting: Quoting) -> None:
    job = booked(quoting)
    for change in ({"authorised_with_tax": Decimal(1)}, {"base": Decimal(1)}, {"contingency": Decimal(1)}, {"number": "J-1"}):
        with quoting.office.scope(), pytest.raises(IntegrityError), transaction.atomic():
            Job.objects.for_shop(quoting.shop).filter(pk=job.pk).update(**change)


def test_draws_never_pass_the_pot(quoting: Quoting) -> None:
    job = booked(quoting)
    with quoting.office.scope(), pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.for_shop(quoting.shop).filter(pk=job.pk).update(drawn=job.contingency + Decimal("0.01"))


def test_a_consent_reads_back_as_it_was_hashed(quoting: Quoting) -> None:
    booked(quoting)
    with quoting.office.scope():
        chain = list(Consent.objects.for_shop(quoting.shop).order_by("seq"))
        links = [(one.seq, one.before, one.hash, hashed_fields(one)) for one in chain]
    assert len(links) == 1
    assert broken_links(links) == ()


def test_a_job_goes_through_its_states(quoting: Quoting) -> None:
    way = ("opening_up", "waiting", "opening_up", "rebuilding", "testing", "handed_over", "settled")
    job = at_work(quoting, booked(quoting), *way)
    assert (job.state, job.resumes) == ("settled", "")
    assert job.opened_on
    assert job.handed_over_on
    assert job.closed_on
