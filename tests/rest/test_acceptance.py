"""Accepting, declining and taking back an offer over the shop's desk."""

import pytest

from quotes.models import Job
from tests.rest.consenting import SMALL, accept, consents, document
from tests.rest.quoting import Quoting

pytestmark = pytest.mark.django_db


def test_acceptance_authorises_the_limit_with_tax_and_books_the_job(quoting: Quoting) -> None:
    quote = quoting.issued(**SMALL)
    answer = accept(quoting, quote["id"])
    assert answer.status_code == 201, answer.content.decode()
    done = answer.json()
    assert (done["state"], done["waits_for"]) == ("accepted", [])
    assert done["consent"]["limit_with_tax"] == quote["limit_with_tax"]
    with quoting.office.scope():
        job = Job.objects.for_shop(quoting.shop).get(pk=done["job"])
    assert (str(job.authorised_with_tax.normalize()), job.quote_id) == (str(job.limit_with_tax.normalize()), quote["id"])
    assert consents(quoting, quote["id"])["intact"]
    assert document(quoting, quote["id"])["document_hash"] == done["consent"]["document_hash"]
