"""Who keeps customers, who sees them, and what is left of one that was erased?"""

import hashlib
from typing import Any

import pytest
from django.db import connection
from pytest_django import DjangoAssertNumQueries

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from quotes.actions.customers import digest
from quotes.models import Customer, IdempotencyKey
from tests.rest import bodies
from tests.rest.office import Office, places, problem


def added(here: Office, **changes: Any) -> dict[str, Any]:
    answer = here.post("customers", bodies.customer(**changes))
    assert answer.status_code == 201, answer.content
    body: dict[str, Any] = answer.json()
    return body


def test_a_customer_is_added_and_read_again(here: Office) -> None:
    answer = here.post("customers", bodies.customer())
    body = answer.json()
    assert answer.status_code == 201
    assert answer["Location"] == here.url(f"customers/{body['id']}")
    assert answer["ETag"] == '"v1"'
    assert {name: body[name] for name in ("kind", "name", "note", "client_id", "erased_at")} == {
        "kind": "person",
        "name": "Invented Owner",
        "note": "Prefers the morning.",
        "client_id": None,
        "erased_at": None,
    }
    assert body["contacts"] == [
        {"kind": "email", "value": "owner@example.org", "note": ""},
        {"kind": "phone", "value": "555 0100", "note": ""},
    ]
    again = here.get(f"customers/{body['id']}")
    assert again.json() == body
    assert again["ETag"] == '"v1"'


def test_a_change_names_what_changes_and_keeps_the_rest(here: Office) -> None:
    one = added(here)
    answer = here.change(f"customers/{one['id']}", {"name": "Invented Heir"})
    assert answer.status_code == 200
    assert answer["ETag"] == '"v2"'
    assert answer.json() == {**one, "name": "Invented Heir", "changed": answer.json()["changed"]}


def test_a_list_in_a_change_replaces_the_whole_list(here: Office) -> None:
    one = added(here)
    answer = here.change(f"customers/{one['id']}", {"contacts": [{"kind": "post", "value": "1 Invented Way"}]})
    assert answer.json()["contacts"] == [{"kind": "post", "value": "1 Invented Way", "note": ""}]


def test_an_object_in_a_change_is_still_a_whole_object(here: Office) -> None:
    one = added(here)
    answer = here.change(f"customers/{one['id']}", {"contacts": [{"kind": "post"}]})
    assert places(answer) == {"#/contacts/0/value": "required"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"name": ""}, {"#/name": "blank"}),
        ({"name": "x" * 201}, {"#/name": "max_length"}),
        ({"kind": "dog"}, {"#/kind": "unknown_choice"}),
        ({"contacts": [{"kind": "fax", "value": "1"}]}, {"#/contacts/0/kind": "unknown_choice"}),
        ({"contacts": {}}, {"#/contacts": "not_a_list"}),
        ({"contacts": None}, {"#/contacts": "null"}),
        ({"contacts": [{"kind": "post", "value": "x"}] * 11}, {"#/contacts": "max_length"}),
        ({"authorisers": [{"name": "x"}]}, {"#/authorisers/0/contact": "required"}),
        ({"client_id": "x"}, {"#/client_id": "not_uuid"}),
        ({"nmae": 1, "note": 7}, {"#/nmae": "unknown_field", "#/note": "not_text"}),
        ({"id": 1, "erased_at": None}, {"#/id": "unknown_field", "#/erased_at": "unknown_field"}),
    ],
)
def test_a_customer_that_does_not_fit_is_refused(here: Office, changes: dict[str, Any], expected: dict[str, str]) -> None:
    assert places(here.post("customers", bodies.customer(**changes))) == expected
    with here.scope():
        assert not Customer.objects.for_shop(here.shop).exists()


@pytest.mark.parametrize("role", [ANALYST, NETWORK_MANAGER])
def test_contact_data_is_closed_to_roles_that_do_not_need_it(here: Office, role: str) -> None:
    here.shop.shares_learning = True
    here.shop.save(update_fields=["shares_learning"])
    one = added(here)
    for method, path in [
        ("GET", "customers"),
        ("POST", "customers"),
        ("GET", f"customers/{one['id']}"),
        ("PATCH", f"customers/{one['id']}"),
        ("POST", f"customers/{one['id']}/erasure"),
    ]:
        assert problem(here.ask(method, path, {}, role=role), 403)["code"] == "role_not_allowed"


def test_an_estimator_keeps_customers_but_does_not_erase_them(here: Office) -> None:
    answer = here.post("customers", bodies.customer(), role=ESTIMATOR)
    path = f"customers/{answer.json()['id']}"
    assert here.change(path, {"note": ""}, role=ESTIMATOR).status_code == 200
    refused = here.ask("POST", f"{path}/erasure", role=ESTIMATOR, headers={"If-Match": '"v2"'})
    assert problem(refused, 403)["code"] == "role_not_allowed"


def test_another_shops_customer_is_not_found(here: Office, elsewhere: Office) -> None:
    one = added(elsewhere)
    assert problem(here.get(f"customers/{one['id']}"), 404)["code"] == "not_found"
    assert here.ask("PATCH", f"customers/{one['id']}", {"name": "x"}, headers={"If-Match": "*"}).status_code == 404
    assert here.ask("POST", f"customers/{one['id']}/erasure", headers={"If-Match": "*"}).status_code == 404
    # Nor does this shop's token open the other shop.
    assert here.get(elsewhere.url("customers")).status_code == 404
    assert here.get("customers").json() == {"results": [], "next": None}


def test_lists_are_filtered_by_name_kind_and_erasure(here: Office) -> None:
    one = added(here, name="Anna Invented")
    two = added(here, name="Invented Hauling", kind="company")
    erase(here, added(here)["id"])

    def found(query: str) -> list[int]:
        return [row["id"] for row in here.get(f"customers?{query}").json()["results"]]

    assert found("name=ANNA") == [one["id"]]
    assert found("kind=company") == [two["id"]]
    assert found("erased=false") == [two["id"], one["id"]]
    assert len(found("erased=true")) == 1
    assert found("name=%25") == []


def erase(here: Office, customer_id: int) -> Any:
    tag = here.get(f"customers/{customer_id}")["ETag"]
    return here.ask("POST", f"customers/{customer_id}/erasure", headers={"If-Match": tag})


def test_erasing_leaves_an_id_and_salted_digests_and_no_word(here: Office) -> None:
    one = added(here)
    answer = erase(here, one["id"])
    assert answer.status_code == 200
    body = answer.json()
    assert (body["name"], body["contacts"], body["authorisers"], body["note"]) == ("", [], [], "")
    assert body["erased_at"] is not None
    with here.scope():
        row = Customer.objects.for_shop(here.shop).get()
        assert row.erased_by is not None
        salt = bytes(row.digest_salt or b"")
        assert len(salt) == 16
        # sha256(salt + name in small letters without spaces), worked here by hand.
        assert hashlib.sha256(salt + b"inventedowner").hexdigest() in row.digests
        assert digest("OWNER@example.org ", salt) in row.digests
        assert len(row.digests) == 3


def test_two_customers_of_one_name_have_different_digests(here: Office) -> None:
    for _ in range(2):
        erase(here, added(here, contacts=[])["id"])
    with here.scope():
        first, second = (row.digests for row in Customer.objects.for_shop(here.shop))
    assert first != second


def test_nothing_is_left_to_change_after_an_erasure(here: Office) -> None:
    one = added(here)
    erase(here, one["id"])
    assert problem(here.change(f"customers/{one['id']}", {"name": "x"}), 409)["code"] == "already_erased"
    assert problem(erase(here, one["id"]), 409)["code"] == "already_erased"


def test_no_table_but_the_customers_own_holds_a_customers_words(here: Office) -> None:
    one = here.post("customers", bodies.customer(), headers={"Idempotency-Key": "k-1"}).json()
    here.change(f"customers/{one['id']}", {"note": "Invented remark."})
    with here.scope(), connection.cursor() as cursor:
        tables = [name for name in connection.introspection.table_names(cursor) if name.startswith("quotes_")]
        assert "quotes_coachevent" in tables
        assert not [name for name in tables if name.startswith("quotes_customer") and name != "quotes_customer"]
        for table in tables:
            cursor.execute(f"SELECT count(*) FROM {table} t WHERE t::text ILIKE '%%invented owner%%'")
            assert cursor.fetchone()[0] == (1 if table == "quotes_customer" else 0), table


def test_a_repeated_creation_is_answered_from_the_customers_own_row(here: Office) -> None:
    key = {"Idempotency-Key": "k-1"}
    first = here.post("customers", bodies.customer(), headers=key)
    again = here.post("customers", bodies.customer(), headers=key)
    assert again.status_code == 201
    assert again["Idempotency-Replayed"] == "true"
    assert again["Location"] == first["Location"]
    assert again.json() == first.json()
    with here.scope():
        assert IdempotencyKey.objects.for_shop(here.shop).get().answer == ""


def test_a_page_of_customers_takes_the_same_queries_however_long_it_is(
    here: Office, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(3):
        added(here)
    here.get("customers")
    # Token, shop, savepoint, settings, rows, settings back, savepoint released.
    with django_assert_num_queries(7):
        assert len(here.get("customers").json()["results"]) == 3


def test_a_client_id_is_taken_once(here: Office, elsewhere: Office) -> None:
    made = {"client_id": "2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10"}
    one = added(here, **made)
    refused = here.post("customers", bodies.customer(**made))
    assert places(refused, 409) == {"#/client_id": "already_there"}
    assert str(one["id"]) in refused.json()["detail"]
    assert elsewhere.post("customers", bodies.customer(**made), role=MANAGER).status_code == 201
