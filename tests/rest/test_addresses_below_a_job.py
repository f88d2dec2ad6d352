"""What belongs to one job is not there under the address of another, and what nobody made is not there at all."""

import pytest
from rest_framework.test import APIClient

from tests.rest.changing import drafted, opened, wish
from tests.rest.office import problem
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db

OF_ORDERS = (
    "jobs/{job}/change-orders/{order}/sending",
    "jobs/{job}/change-orders/{order}/acceptance",
    "jobs/{job}/change-orders/{order}/refusal",
    "jobs/{job}/change-orders/{order}/withdrawal",
    "jobs/{job}/change-orders/{order}/carrying",
)
OF_NOBODY = (
    "jobs/{job}/settlements/{nobody}/sending",
    "jobs/{job}/settlements/{nobody}/signing",
    "jobs/{job}/settlements/{nobody}/refusal",
    "jobs/{job}/settlements/{nobody}/withdrawal",
    "jobs/{job}/payments/{nobody}/taken-back",
    "workers/{nobody}/retirement",
)


@pytest.mark.parametrize("address", OF_ORDERS)
def test_an_order_of_another_job_is_not_there(small: SmallShop, address: str) -> None:
    first, second = opened(small), opened(small)
    order = drafted(small, first, wish())

    answer = small.office.post(address.format(job=second.pk, order=order["id"]), {}, headers={"If-Match": "*"})

    assert problem(answer, 404)


@pytest.mark.parametrize("address", OF_NOBODY)
def test_what_nobody_made_is_not_there(small: SmallShop, address: str) -> None:
    job = opened(small)
    method = "PUT" if address.startswith("workers") else "POST"

    answer = small.office.ask(method, address.format(job=job.pk, nobody=999_999), {}, headers={"If-Match": "*"})

    assert problem(answer, 404)


def test_a_job_whose_books_are_open_has_no_review(small: SmallShop) -> None:
    job = opened(small)

    assert problem(small.office.get(f"jobs/{job.pk}/review/why"), 404)
    for address in (f"jobs/{job.pk}/review/sign-off", f"jobs/{job.pk}/review/reopening"):
        assert problem(small.office.post(address, {}, role="analyst", headers={"If-Match": "*"}), 404)


@pytest.mark.parametrize("address", ["/api/v1/owner/{token}/acceptance", "/api/v1/owner/{token}/refusal"])
def test_a_link_that_nobody_sent_opens_nothing(small: SmallShop, address: str) -> None:
    answer = APIClient(raise_request_exception=False).post(address.format(token="x" * 43), {}, format="json")

    assert problem(answer, 404)
