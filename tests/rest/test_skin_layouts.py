"""How does the new skin of a quote lie? The layout tells its strips, its seams, and which stock was taken and why."""

from tests.rest.quoting import Quoting, contents_of, line_of

COIL = "aluminium-skin-30-thou"


def test_the_layout_tells_how_the_new_skin_lies(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    (skin,) = quoting.office.get(f"quotes/{quote['id']}/layout").json()["skins"]

    assert (skin["section"], skin["needed"], skin["stock"], skin["fits"]) == (
        "main",
        "frp-skin-108-in",
        "frp-skin-108-in",
        True,
    )
    assert (skin["direction"], skin["stock_length"], skin["lap_length"], skin["laps"]) == ("along", "408", "0", [])
    assert [(strip["station"], strip["offset"], strip["length"]) for strip in skin["strips"]] == [("0", "0", "408")]


def test_a_wider_coil_that_the_shop_buys_takes_the_place_of_a_narrow_one(quoting: Quoting) -> None:
    wide = {**contents_of("material", COIL), "name": "Coil, 108 in wide", "stock_width": "108 in", "in_place_of": COIL}
    quoting.own_edition("material", "aluminium-skin-108-in", **wide)
    quoting.own_edition("price", "aluminium-skin-108-in", pack_price="11.40")
    quote = quoting.draft(skin="aluminium").json()
    (skin,) = quoting.office.get(f"quotes/{quote['id']}/layout").json()["skins"]

    assert (skin["needed"], skin["stock"], skin["reason"]) == (COIL, "aluminium-skin-108-in", "the only stock that fits")
    assert [no["stock"] for no in skin["why_not"]] == [COIL]
    assert line_of(quote, "aluminium-skin-108-in")["details"]["net"] == "35.0000"
    assert not [text for text in quote["warnings"] if "stock" in text]
