"""How is a long list walked through, and which cursors lead nowhere?"""

import base64
import json

import pytest
from django.test import RequestFactory
from rest_framework.request import Request

from api.rest.pagination import paginate
from quotes.models import Customer
from tests.rest import bodies
from tests.rest.office import Office, places

BIG = "9" * 30


@pytest.fixture
def five(here: Office) -> list[int]:
    """Ids of five customers, newest first."""
    names = ["Bea", "Ada", "Bea", "Cid", "Ada"]
    ids = [here.post("customers", bodies.customer(name=name)).json()["id"] for name in names]
    return list(reversed(ids))


def walk(here: Office, address: str) -> list[list[int]]:
    pages = []
    while address:
        body = here.get(address).json()
        pages.append([row["id"] for row in body["results"]])
        address = body["next"] or ""
    return pages


def test_pages_follow_each_other_to_the_end(here: Office, five: list[int]) -> None:
    assert walk(here, "customers?limit=2") == [five[0:2], five[2:4], five[4:5]]
    assert walk(here, "customers?limit=5") == [five]
    assert walk(here, "customers") == [five]


def test_the_next_address_keeps_filters_and_limit_and_names_no_host(here: Office, five: list[int]) -> None:
    address = here.get("customers?limit=1&name=Bea").json()["next"]
    assert address.startswith(here.url("customers?limit=1&name=Bea&cursor="))
    assert walk(here, "customers?limit=1&name=Bea") == [[five[2]], [five[4]]]


def test_a_row_that_comes_or_goes_meanwhile_repeats_and_hides_none(here: Office, five: list[int]) -> None:
    first = here.get("customers?limit=2").json()
    here.post("customers", bodies.customer())
    with here.scope():
        Customer.objects.for_shop(here.shop).filter(pk=five[1]).delete()
    assert walk(here, first["next"]) == [five[2:4], five[4:5]]


@pytest.mark.parametrize("limit", [1, 2, 3, 4])
def test_an_order_of_several_columns_is_walked_in_that_order(here: Office, five: list[int], limit: int) -> None:
    order = ("name", "-id")
    expected = [five[0], five[3], five[2], five[4], five[1]]  # Ada, Ada, Bea, Bea, Cid, newest first among equals
    found: list[int] = []
    address = f"/x?limit={limit}"
    with here.scope():
        while address and len(found) < 10:
            request = Request(RequestFactory().get(address))
            page = paginate(request, Customer.objects.for_shop(here.shop), order)
            found += [row.pk for row in page.rows]
            address = page.next or ""
    assert found == expected


@pytest.mark.parametrize("limit", ["0", "201", "-1", "x", "", "1.5", BIG, "%00", "٣"])
def test_a_limit_is_from_1_to_200(here: Office, limit: str) -> None:
    assert places(here.get(f"customers?limit={limit}"), 400) == {"limit": "bad_parameter"}


def cursor(values: object) -> str:
    return base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "%00",
        "!!!",
        "a" * 500,
        "W1tbW1tbW1tbW1tbW1tbW1tb",
        cursor([]),
        cursor(["1", "2"]),
        cursor(["x"]),
        cursor([1]),
        cursor([None]),
        cursor([BIG]),
        cursor(["-" + BIG]),
        cursor(["1\x00"]),
        cursor(["1.5"]),
        cursor({"a": 1}),
        cursor("1"),
    ],
)
def test_a_cursor_that_no_list_made_is_refused(here: Office, text: str) -> None:
    assert places(here.get(f"customers?cursor={text}"), 400) == {"cursor": "bad_cursor"}


def test_a_parameter_is_said_once_and_known(here: Office) -> None:
    assert places(here.get("customers?limit=1&limit=2"), 400) == {"limit": "bad_parameter"}
    refused = here.get("customers?nmae=x&limit=1")
    assert places(refused, 400) == {"nmae": "unknown_parameter"}
    assert refused.json()["errors"][0]["detail"] == "Unknown parameter. Did you mean name?"
    assert places(here.get("customers?name=%00"), 400) == {"name": "bad_parameter"}
    assert places(here.get(f"customers?name={'x' * 201}"), 400) == {"name": "bad_parameter"}
