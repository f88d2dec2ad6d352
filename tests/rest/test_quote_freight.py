"""What does a quote tell of the freight of what it orders, and to whom?"""

from api.accounts.roles import ANALYST, ESTIMATOR
from tests.rest.quoting import Quoting, contents_of, line_of

SKIN = "frp-skin-108-in"
FREIGHT = f"freight:{SKIN}"


def test_a_quote_tells_the_freight_of_a_material_beside_it(quoting: Quoting) -> None:
    # 187.50 x 1.35 = 253.125, half up 253.13.
    quoting.own_edition("price", SKIN, freight="187.50")
    line = line_of(quoting.draft().json(), FREIGHT)

    assert (line["kind"], line["phase"], line["quantity"], line["unit"]) == ("material", "skin", "1.0000", "order")
    assert (line["price"], line["amount"], line["cost"]) == ("253.125000", "253.13", "187.50")
    assert line["details"] == {"freight_of": SKIN, "freight": "187.50", "markup": "0.35", "tax_class": "parts"}


def test_an_estimator_reads_what_the_owner_pays_for_freight_and_not_what_the_shop_pays(quoting: Quoting) -> None:
    quoting.own_edition("price", SKIN, freight="187.50")
    path = quoting.draft()["Location"]
    line = line_of(quoting.office.get(path, role=ESTIMATOR).json(), FREIGHT)

    assert "cost" not in line
    assert line["details"] == {"freight_of": SKIN, "tax_class": "parts"}


def test_freight_answers_why_and_lands_on_what_is_stored(quoting: Quoting) -> None:
    quoting.own_edition("price", SKIN, freight="187.50")
    quote = quoting.draft().json()
    path = f"quotes/{quote['id']}/lines/{line_of(quote, FREIGHT)['position']}/why"
    known, told = (quoting.office.get(path, role=role).json() for role in (ANALYST, ESTIMATOR))

    assert known["value"] == known["stored"] == "253.13"
    assert known["steps"][0]["value"] == "187.5"
    assert [step["value"] for step in told["steps"][:2]] == ["for managers and analysts"] * 2


def test_freight_of_the_longest_name_of_a_material_fits(quoting: Quoting) -> None:
    longest = "s" * 60
    work = contents_of("assembly", "frp-skin-bond")
    needs = [{**need, "material": longest} if need["material"] == SKIN else need for need in work["materials"]]
    quoting.own_edition("material", longest, **contents_of("material", SKIN))
    quoting.own_edition("price", longest, pack_price="30", freight="187.50")
    quoting.own_edition("assembly", "frp-skin-bond", materials=needs)

    assert line_of(quoting.draft().json(), f"freight:{longest}")["amount"] == "253.13"
