"""The worked roof of DEVELOPERS.md section 1 over the API, from the quote to the job."""

import pytest

from tests.rest.working import booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db


def test_the_quote_is_the_page_s(small: SmallShop) -> None:
    quote = small.draft().json()

    amounts = quote["amounts"]
    page = {
        "base": "3491.79", "allowance": "41.32", "reserve": "96.39", "contingency": "137.71", "limit": "3629.50",
        "base_tax": "288.07", "limit_tax": "299.43",
    }  # fmt: skip
    assert {name: amounts[name] for name in page} == page
    assert (quote["base_with_tax"], quote["limit_with_tax"]) == ("3780.00", "3929.00")


def test_the_job_begins_with_the_page_s_pot(small: SmallShop) -> None:
    job = booked(small)

    answer = small.office.get(f"jobs/{job.pk}").json()
    (frame,) = answer["hidden"]
    assert answer["pot"] == {"contingency": "137.71", "drawn": "0.00", "left": "137.71"}
    assert (frame["slug"], frame["unit_price"], frame["set_up"]) == ("opening_frame", "87.711200", "50.00")
    assert (frame["labour_part"], frame["material_part"]) == ("80.000000", "7.711200")
