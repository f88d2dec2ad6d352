"""Which values cross the edge, in which form, and what does a refusal say?"""

import uuid
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from api.rest import fields
from api.rest.errors import validation_faults
from costbase.calc.money import currency
from costbase.calc.units import LENGTH, Quantity


class Sample(fields.StrictSerializer):
    name = fields.TextField(max_length=10, required=False)
    count = fields.WholeField(max_value=9, required=False)
    paid = fields.FlagField(required=False)
    on = fields.DayField(required=False)
    kind = fields.OneOfField(["vent", "skylight"], required=False)
    slug = fields.SlugField(required=False)
    email = fields.EmailField(required=False)
    client_id = fields.UuidField(required=False)
    share = fields.ShareField(required=False)
    width = fields.MeasureField(LENGTH, us="in", metric="mm", required=False)
    price = fields.AmountField(required=False)
    rate = fields.AmountField(places=6, required=False)


DOLLARS = {"currency": currency("USD"), "unit_system": "us"}


def taken(body: object, context: dict[str, Any] = DOLLARS) -> dict[str, Any]:
    serializer = Sample(data=body, context=context)
    serializer.is_valid(raise_exception=True)
    values: dict[str, Any] = serializer.validated_data
    return values


def faults(body: object, context: dict[str, Any] = DOLLARS) -> dict[str, str]:
    with pytest.raises(ValidationError) as caught:
        taken(body, context)
    return {fault.pointer: fault.code for fault in validation_faults(caught.value.detail)}


def words(body: object) -> str:
    with pytest.raises(ValidationError) as caught:
        taken(body)
    (fault,) = validation_faults(caught.value.detail)
    return fault.detail


def test_each_field_takes_its_one_form() -> None:
    values = taken(
        {
            "name": " Ann ",
            "count": 9,
            "paid": False,
            "on": "2026-02-28",
            "kind": "vent",
            "slug": "no-bay",
            "email": "ann@example.org",
            "client_id": "2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10",
            "share": 0.1,
            "width": "8-1/2 in",
            "price": {"amount": "12.30", "currency": "USD"},
            "rate": {"amount": "0.123456", "currency": "USD"},
        }
    )
    assert values == {
        "name": "Ann",
        "count": 9,
        "paid": False,
        "on": date(2026, 2, 28),
        "kind": "vent",
        "slug": "no-bay",
        "email": "ann@example.org",
        "client_id": uuid.UUID("2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10"),
        "share": Decimal("0.1"),
        # 8.5 x 254
        "width": Quantity("8 1/2 in", 2159.0, LENGTH),
        "price": Decimal("12.30"),
        "rate": Decimal("0.123456"),
    }


def each(name: str, code: str, *values: object) -> list[tuple[str, object, str]]:
    return [(name, value, code) for value in values]


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        *each("name", "not_text", 1, 1.5, True, [], {}, ["x"]),
        *each("name", "null", None),
        *each("name", "blank", "", "   "),
        *each("name", "max_length", "x" * 11),
        *each("count", "not_whole", "1", 1.0, True, [], {}, ""),
        *each("count", "min_value", -1),
        *each("count", "max_value", 10, 10**39),
        *each("paid", "not_flag", "true", 1, 0, "yes", [], {}, ""),
        *each("on", "not_day", "2026-02-29", "20260228", "2026-W01-1", "28.2.2026", 5, [], {}, ""),
        *each("kind", "unknown_choice", "Vent", "", 1, True, [], {}),
        *each("slug", "bad_slug", "No-Bay", "-x", "x-", "x_y", "x" * 64),
        *each("email", "invalid", "ann", "ann@", "a b@example.org"),
        *each("email", "not_text", 5),
        *each("client_id", "not_uuid", "x", 5, "2f1c3f5e8f0b4c559a640d8d4a3f9f10", []),
        *each("share", "bad_share", 1.5, -0.1, 8, "x", "1e-1", True, [], {}, "", "0.1234567", "8 %", "0,08"),
        *each("share", "null", None),
    ],
)
def test_each_field_refuses_other_forms(name: str, value: object, code: str) -> None:
    assert faults({name: value}) == {f"#/{name}": code}


@pytest.mark.parametrize(
    ("value", "pointer", "code"),
    [
        (8.5, "#/width", "bad_quantity"),
        ("8.5", "#/width", "bad_quantity"),
        ("-8 in", "#/width", "bad_quantity"),
        ("10,2 m", "#/width", "bad_quantity"),
        ("1e3 in", "#/width", "bad_quantity"),
        ("9**9**9 ft", "#/width", "bad_quantity"),
        ("5 lb", "#/width", "wrong_dimension"),
        ("5 cubits", "#/width", "unknown_unit"),
        ("5 in" + " " * 40, "#/width", "bad_quantity"),
        ([], "#/width", "bad_quantity"),
        ({"value": 10.2, "unit": "m"}, "#/width/value", "bad_quantity"),
        ({"value": "10.2", "unit": "kg"}, "#/width/unit", "wrong_dimension"),
        ({"value": "10.2", "unit": ["m"]}, "#/width/unit", "unknown_unit"),
        ({"value": "10.2"}, "#/width/unit", "required"),
        ({"value": "10.2", "unit": "m", "untt": 1}, "#/width/untt", "unknown_field"),
        ({"value": "10.2", "unit": "m", "entered": "10.3 m"}, "#/width/entered", "measure_disagrees"),
        ({"value": "10.2", "unit": "m", "entered": "x"}, "#/width/entered", "bad_quantity"),
    ],
)
def test_a_measure_that_is_none_is_refused_at_its_place(value: object, pointer: str, code: str) -> None:
    assert faults({"width": value}) == {pointer: code}


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ({"amount": "12.305", "currency": "USD"}, {"#/price/amount": "amount_too_fine"}),
        ({"amount": "12.300", "currency": "USD"}, {}),
        ({"amount": 12.3, "currency": "USD"}, {"#/price/amount": "bad_amount"}),
        ({"amount": "-1", "currency": "USD"}, {"#/price/amount": "bad_amount"}),
        ({"amount": "NaN", "currency": "USD"}, {"#/price/amount": "bad_amount"}),
        ({"amount": "1e3", "currency": "USD"}, {"#/price/amount": "bad_amount"}),
        ({"amount": "1" * 14, "currency": "USD"}, {"#/price/amount": "bad_amount"}),
        ({"amount": "1", "currency": "EUR"}, {"#/price/currency": "wrong_currency"}),
        ({"amount": "1"}, {"#/price/currency": "wrong_currency"}),
        ({}, {"#/price/amount": "bad_amount", "#/price/currency": "wrong_currency"}),
        ("12.30", {"#/price": "not_object"}),
        ({"amount": "1", "currency": "USD", "x": 1}, {"#/price/x": "unknown_field"}),
    ],
)
def test_an_amount_is_a_text_of_the_shops_currency(value: object, expected: dict[str, str]) -> None:
    if expected:
        assert faults({"price": value}) == expected
    else:
        assert taken({"price": value}) == {"price": Decimal("12.300")}


def test_a_currency_without_decimals_takes_and_shows_none() -> None:
    yen = {"currency": currency("JPY"), "unit_system": "metric"}
    assert taken({"price": {"amount": "1200", "currency": "JPY"}}, yen) == {"price": Decimal(1200)}
    assert faults({"price": {"amount": "1200.5", "currency": "JPY"}}, yen) == {"#/price/amount": "amount_too_fine"}
    assert Sample({"price": Decimal("1200.000")}, context=yen).data == {"price": {"amount": "1200", "currency": "JPY"}}


def test_an_amount_that_was_never_rounded_is_not_shown_rounded() -> None:
    with pytest.raises(ValueError, match=r"12\.305 has more than 2 decimals"):
        _ = Sample({"price": Decimal("12.305")}, context=DOLLARS).data


def test_a_measure_is_answered_in_the_units_of_the_shop_and_as_entered() -> None:
    width = Quantity("8 ft 6 in", 25908.0, LENGTH)
    shown = {"value": "102", "unit": "in", "entered": "8 ft 6 in"}
    assert Sample({"width": width}, context=DOLLARS).data == {"width": shown}
    # 102 x 25.4 mm
    metric = {"value": "2590.8", "unit": "mm", "entered": "8 ft 6 in"}
    assert Sample({"width": width}, context={"unit_system": "metric"}).data == {"width": metric}


@pytest.mark.parametrize("entered", ["8 ft 6 in", "33 1/3 ft", "7.77777 m"])
def test_what_was_answered_can_be_sent_back_and_means_the_same(entered: str) -> None:
    once = taken({"width": entered})
    assert taken(Sample(once, context=DOLLARS).data) == once


def test_an_unknown_member_is_refused_with_the_nearest_name_beside_every_other_fault() -> None:
    assert words({"pirce": 1}) == "Unknown member. Did you mean price?"
    assert faults({"pirce": 1, "zzz": 1, "count": "x", "price": 3}) == {
        "#/pirce": "unknown_field",
        "#/zzz": "unknown_field",
        "#/count": "not_whole",
        "#/price": "not_object",
    }


@pytest.mark.parametrize("body", [[], "x", 3, None, True])
def test_what_is_no_object_is_refused_as_a_whole(body: object) -> None:
    class Whole(fields.StrictSerializer):
        inner = Sample()

    with pytest.raises(ValidationError) as caught:
        Whole(data={"inner": body}).is_valid(raise_exception=True)
    assert [fault.pointer for fault in validation_faults(caught.value.detail)] == ["#/inner"]


def test_faults_in_lists_have_the_index_in_their_pointer() -> None:
    class Whole(fields.StrictSerializer):
        parts = Sample(many=True, max_length=3)
        days = serializers.ListField(child=fields.DayField(), max_length=2)

    def places(body: object) -> dict[str, str]:
        with pytest.raises(ValidationError) as caught:
            Whole(data=body).is_valid(raise_exception=True)
        return {fault.pointer: fault.code for fault in validation_faults(caught.value.detail)}

    assert places({"parts": [{}, {"count": "x"}, 5], "days": ["2026-01-01", "x"]}) == {
        "#/parts/1/count": "not_whole",
        "#/parts/2": "not_object",
        "#/days/1": "not_day",
    }
    assert places({"parts": {}, "days": "x"}) == {"#/parts": "not_a_list", "#/days": "not_a_list"}
    assert places({"parts": [{}] * 4, "days": ["2026-01-01"] * 3}) == {
        "#/parts": "max_length",
        "#/days": "max_length",
    }


def test_a_refusal_says_what_was_expected_and_quotes_a_long_value_shortly() -> None:
    assert words({"kind": "vemt"}) == "Expected one of vent, skylight, not 'vemt'. Did you mean vent?"
    assert words({"name": 5}) == "Expected a text, not the number 5."
    assert words({"on": "9" * 500}).endswith("999....")
    assert "33' 6\"" in words({"width": "9**9**9 ft"})
