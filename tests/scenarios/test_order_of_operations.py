"""The worked roof of DEVELOPERS.md section 1: every amount on that page, worked by hand there, by the code here."""

import re
from decimal import Decimal
from pathlib import Path

import pytest

from quotes.calc.kinds import CountedPrice, amounts_by_kind, by_assembly, counted_labour, material_shares
from quotes.calc.quote import Quote
from tests.scenarios.small_roof import quoted

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def quote() -> Quote:
    return quoted()


def test_labour_lines_are_the_page_s(quote: Quote) -> None:
    lines = {(line.assembly, line.trade): (line.hours, line.amount) for line in quote.visible.labour}

    assert lines == {
        ("skin-off", "technician"): (Decimal("9.3500"), Decimal("935.00")),
        ("membrane-on", "technician"): (Decimal("10.0000"), Decimal("1000.00")),
        ("membrane-on", "helper"): (Decimal("4.8000"), Decimal("288.00")),
        ("bead", "technician"): (Decimal("1.6800"), Decimal("168.00")),
        ("backing-frame", "technician"): (Decimal("1.3000"), Decimal("130.00")),
    }
    assert quote.visible.labour_total == Decimal("2521.00")


def test_material_lines_are_the_page_s(quote: Quote) -> None:
    lines = {line.packed.material.slug: (line.packed.billed, line.amount) for line in quote.visible.materials}

    assert lines == {
        "membrane": (Decimal("22.05"), Decimal("379.54")),
        "adhesive": (Decimal("3"), Decimal("218.70")),
        "sealant": (Decimal("2.8515"), Decimal("46.19")),
        "strip": (Decimal("6.7200"), Decimal("7.71")),
    }
    assert quote.visible.material_total == Decimal("652.14")


def test_visible_work_adds_the_shop_s_lines(quote: Quote) -> None:
    assert [(line.slug, line.amount) for line in quote.visible.shop] == [
        ("shop-supplies", Decimal("60.00")),
        ("overhead", Decimal("258.65")),
    ]
    assert quote.totals.base == Decimal("3491.79")


def test_hidden_work_and_what_is_set_aside_are_the_page_s(quote: Quote) -> None:
    (frame,) = quote.hidden

    assert frame.cost.price == Decimal("87.711200")
    assert frame.cost.set_up == Decimal("50.00")
    assert quote.totals.allowance == Decimal("41.32")
    assert quote.totals.contingency == Decimal("137.71")
    assert quote.totals.reserve == Decimal("96.39")


def test_counted_work_keeps_what_it_is_settled_at(quote: Quote) -> None:
    takes = by_assembly(quote.takes)
    (line,) = [line for line in quote.visible.labour if line.assembly == "backing-frame"]
    (strip,) = [line for line in quote.visible.materials if line.packed.material.slug == "strip"]
    labour = counted_labour(line, takes["backing-frame"], quote.currency)
    (share,) = material_shares(strip, takes, quote.currency)

    assert labour == CountedPrice(Decimal(1), "each", Decimal("80.000000"), Decimal("50.00"))
    assert share.counted == CountedPrice(Decimal(1), "each", Decimal("7.710000"), Decimal("0.00"))
    assert amounts_by_kind(quote.visible, takes, quote.currency) == {
        "firm": Decimal("3354.08"),
        "counted": Decimal("137.71"),
        "option": Decimal("0.00"),
    }


def test_limit_tax_and_rounding_are_the_page_s(quote: Quote) -> None:
    totals = quote.totals

    assert totals.limit == Decimal("3629.50")
    assert (totals.base_tax, totals.limit_tax) == (Decimal("288.07"), Decimal("299.43"))
    assert (totals.base_rounding, totals.base_with_tax) == (Decimal("0.14"), Decimal("3780.00"))
    assert (totals.limit_rounding, totals.limit_with_tax) == (Decimal("0.07"), Decimal("3929.00"))


def test_the_page_says_what_the_code_gives(quote: Quote) -> None:
    totals = quote.totals
    told = [
        quote.visible.labour_total,
        quote.visible.material_total,
        totals.base,
        totals.allowance,
        totals.contingency,
        totals.reserve,
        totals.limit,
        totals.base_tax,
        totals.limit_tax,
        totals.base_with_tax,
        totals.limit_with_tax,
    ]
    bold = {text.replace(",", "") for text in re.findall(r"\*\*([0-9][0-9,]*\.[0-9]+)\*\*", PAGE)}

    assert {str(amount) for amount in told} <= bold
