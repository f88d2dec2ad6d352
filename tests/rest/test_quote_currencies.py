"""Whole quotes in a currency without decimals and in one with three: the digits of every amount, wherever it is told."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from costbase.models import ShopEdition
from tests.rest.office import office, places
from tests.rest.quoting import MEASURES, Body, Clock, Quoting, entry, line_of

DIGITS = {"JPY": 0, "USD": 2, "KWD": 3}
STEPS = {"JPY": "10", "USD": "1", "KWD": "0.25"}
# What is an amount under its name, wherever it stands; all else with decimals is a price, a quantity or a share.
AMOUNTS = {
    *("base", "record", "allowance", "reserve", "contingency", "limit", "base_with_tax", "limit_with_tax"),
    *("labour", "materials", "base_tax", "base_rounding", "limit_tax", "limit_rounding", "deposit", "cost", "margin"),
    *("amount", "p50", "p80", "p90", "base_expected", "set_up", "worked_on", "firm", "counted", "option"),
}


def in_currency(code: str) -> Quoting:
    """A shop with every line, two taxes and a step; the shipped prices are invented and count as the currency's."""
    quoting = Quoting(office(currency=code))
    quoting.own_edition(
        "rule",
        "standard",
        overhead_share="0.08",
        supplies_share="0.03",
        supplies_cap="400",
        tax_mode="parts_and_labour",
        tax_rates=[{"name": "state", "rate": "0.0625"}, {"name": "city", "rate": "0.02"}],
        total_step=STEPS[code],
    )
    return quoting


def body(quoting: Quoting, **changes: Any) -> Body:
    asked = [*(dict(one) for one in MEASURES), entry("paint_job_count", 1), entry("solar_prep_count", 2)]
    return quoting.body(measures=asked, offered=["paint-match", "solar-prep"], **changes)


def texts(value: object, name: str = "") -> Iterator[tuple[str, str]]:
    """Every text in a document, with the name of the member that it is in."""
    if isinstance(value, dict):
        for member, below in value.items():
            yield from texts(below, "amount" if name == "amounts_by_phase" else member)
    elif isinstance(value, list):
        for below in value:
            yield from texts(below, name)
    elif isinstance(value, str):
        yield name, value


def places_of(text: str) -> int:
    return len(text.partition(".")[2])


@pytest.mark.parametrize(
    ("code", "amounts"),
    [
        (
            # Overhead 8 % of (21,937 + 7,985 + 400) = 2,425.76. 6.25 % of 32,748 = 2,046.75 and 2 % = 654.96; 35,450 in tens.
            # Of 36,393: 2,274.5625 and 727.86; 39,396 in tens. 30 % of 35,450.
            "JPY",
            {
                **{"labour": "21937", "materials": "7985", "base": "32748", "base_tax": "2702", "base_rounding": "0"},
                **{"base_with_tax": "35450", "contingency": "3645", "limit": "36393", "limit_tax": "3003"},
                **{"limit_rounding": "4", "limit_with_tax": "39400", "deposit": "10635"},
            },
        ),
        (
            # Overhead 8 % of (21,929.316 + 7,982.928 + 400) = 2,424.97952. 6.25 % of 32,737.224 = 2,046.0765 and 2 % =
            # 654.74448; 35,438.045 in quarters. Of 36,381.937: 2,273.8710625 and 727.63874; 39,383.447 in quarters.
            "KWD",
            {
                **{"labour": "21929.316", "materials": "7982.928", "base": "32737.224", "base_tax": "2700.821"},
                **{"base_rounding": "-0.045", "base_with_tax": "35438.000", "contingency": "3644.713", "limit": "36381.937"},
                **{"limit_tax": "3001.510", "limit_rounding": "0.053", "limit_with_tax": "39383.500", "deposit": "10631.400"},
            },
        ),
    ],
)
def test_amounts_are_worked_in_the_decimals_of_the_currency(db: None, clock: Clock, code: str, amounts: dict[str, str]) -> None:
    quote = made(code)[1]
    assert {name: quote["amounts"][name] for name in amounts} == amounts


def made(code: str) -> tuple[Quoting, Body]:
    """A shop, and a draft of it with an alternative."""
    quoting = in_currency(code)
    first = quoting.posted(body(quoting)).json()
    second = quoting.office.post(f"quotes/{first['id']}/alternatives", body(quoting, skin="membrane"))
    assert second.status_code == 201, second.content
    quote: Body = quoting.office.get(f"quotes/{first['id']}").json()
    return quoting, quote


@pytest.mark.parametrize(("code", "amount"), [("JPY", "238"), ("USD", "237.50"), ("KWD", "237.500")])
def test_a_line_is_rounded_to_them(db: None, clock: Clock, code: str, amount: str) -> None:
    # 2.5 h of a helper at 95 is 237.5.
    assert line_of(made(code)[1], "interior-protection", "helper")["amount"] == amount


@pytest.mark.parametrize("code", DIGITS)
def test_every_amount_that_is_answered_has_them(db: None, clock: Clock, code: str) -> None:
    quoting, quote = made(code)
    answers = [quote, quoting.office.get("quotes").json(), quoting.office.post("quotes/trial", body(quoting)).json()]
    for answer in answers:
        found = [(name, text) for name, text in texts(answer) if name in AMOUNTS]
        assert {name for name, text in found if places_of(text) != DIGITS[code]} == set()
    assert len([name for name, _ in texts(quote) if name in AMOUNTS]) > 400
    assert {places_of(text) for name, text in texts(quote) if name in ("price", "unit_price", "labour_part")} == {6}


@pytest.mark.parametrize("code", DIGITS)
def test_they_add_up_to_the_last_of_them(db: None, clock: Clock, code: str) -> None:
    quote = made(code)[1]
    amounts = {name: Decimal(text) for name, text in quote["amounts"].items()}

    def total(rows: list[Body], name: str = "amount") -> Decimal:
        return sum((Decimal(row[name]) for row in rows), Decimal(0))

    assert total(quote["lines"]) == amounts["base"] == sum(map(Decimal, quote["amounts_by_kind"].values()))
    assert total(quote["hidden"], "allowance") == amounts["allowance"]
    assert amounts["allowance"] + amounts["reserve"] == amounts["contingency"]
    assert amounts["base"] + amounts["record"] + amounts["contingency"] == amounts["limit"]
    assert amounts["base"] + amounts["base_tax"] + amounts["base_rounding"] == amounts["base_with_tax"]
    assert amounts["limit"] + amounts["limit_tax"] + amounts["limit_rounding"] == amounts["limit_with_tax"]
    assert total(quote["taxes"]["limit"]) == amounts["limit_tax"]
    assert amounts["base_with_tax"] % Decimal(STEPS[code]) == amounts["limit_with_tax"] % Decimal(STEPS[code]) == 0
    for ticked in quote["offered"]["options"]:
        assert total(ticked["lines"]) == Decimal(ticked["base"])
        assert Decimal(ticked["base"]) + Decimal(ticked["contingency"]) == Decimal(ticked["limit"])
    for work in quote["counted"]:
        settled = Decimal(work["quantity"]) * Decimal(work["unit_price"]) + Decimal(work["set_up"])
        assert abs(settled - Decimal(work["amount"])) < Decimal("0.0005")


@pytest.mark.parametrize("code", ["JPY", "KWD"])
def test_every_reason_tells_amounts_in_them_and_lands_on_what_is_stored(db: None, clock: Clock, code: str) -> None:
    quoting, quote = made(code)
    index = quoting.office.get(f"quotes/{quote['id']}/why").json()
    several = ("amounts", "components", "counted", "options")
    paths = [path for name in several for path in index[name]] + [index["allowance"], *index["lines"][::5]]
    for path in paths:
        told = quoting.office.get(path).json()
        assert told["value"] == told["stored"], path
        # What is for one of something is a price: its unit says so.
        wrong = [step for step in told["steps"] if step["unit"] == code and places_of(step["value"]) != DIGITS[code]]
        assert wrong == [], path


@pytest.mark.parametrize("code", ["JPY", "KWD"])
def test_columns_keep_them_and_a_draft_saved_again_comes_to_the_same(db: None, clock: Clock, code: str) -> None:
    quoting, quote = made(code)
    saved = quoting.office.change(f"quotes/{quote['id']}", body(quoting), method="PUT").json()
    assert {**saved, "version": quote["version"]} == quote
    issued = quoting.issue(quote["id"]).json()
    assert issued["amounts"] == quote["amounts"]


def test_a_step_of_the_rule_that_the_currency_does_not_have_is_refused(db: None, clock: Clock) -> None:
    quoting = in_currency("JPY")
    with quoting.office.scope():
        edition = ShopEdition.objects.for_shop(quoting.shop).get(kind="rule")
        edition.contents = {**edition.contents, "total_step": "0.5"}
        edition.save(update_fields=["contents"])
    assert places(quoting.office.post("quotes", body(quoting))) == {"#": "bad_amount"}
