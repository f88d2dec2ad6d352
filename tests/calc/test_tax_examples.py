"""Every tax mode on one small quote, worked by hand: two rates at once, and lines of the shop in different classes.

The quote is the small roof of DEVELOPERS.md section 1 with a minimum charge of 4,000.00. Its lines, before any tax:

    labour                                        2,521.00   class labour
    materials                                       652.14   class parts
    shop supplies, 3 % of labour, at most 60         60.00   class parts, unless said otherwise
    overhead, 8 % of 3,233.14                       258.65   class labour, unless said otherwise
    to the minimum, 4,000.00 - 3,491.79             508.21   class labour, unless said otherwise
    visible work                                  4,000.00   labour 3,287.86, parts 712.14
    set aside for hidden work                       137.71
    limit                                         4,137.71

Of one hidden frame, 87.7112, material is 7.7112: a share of 0.087915..., and so of what is set aside 137.71 x 0.087915... =
12.1069, 12.11. Taxes: State 6.25 %, City 2 %; each is rounded once. The owner's total is rounded to whole units.
"""

from decimal import Decimal
from typing import Any

import pytest

from costbase.calc.cost_base import TaxRate
from quotes.calc.quote import Quote
from quotes.calc.tax import TAX_MODES, Tax, taxable
from quotes.calc.totals import amounts_by_class
from tests.scenarios.small_roof import quoted

RATES = (TaxRate("State", Decimal("0.0625")), TaxRate("City", Decimal("0.02")))


def taxed(mode: str, **rule: Any) -> Quote:
    return quoted(tax_mode=mode, tax_rates=RATES, **{"minimum_charge": Decimal("4000.00"), **rule})


def shown(taxes: tuple[Tax, ...]) -> list[tuple[str, str, str]]:
    return [(tax.name, str(tax.base), str(tax.amount)) for tax in taxes]


def test_the_lines_are_those_that_stand_above() -> None:
    quote = taxed("none")

    assert [str(line.amount) for line in quote.visible.shop] == ["60.00", "258.65", "508.21"]
    assert {name: str(value) for name, value in amounts_by_class(quote.visible).items()} == {
        "labour": "3287.86",
        "parts": "712.14",
    }
    assert (str(quote.totals.base), str(quote.totals.limit)) == ("4000.00", "4137.71")


@pytest.mark.parametrize("mode", ["parts_only", "separated"])
def test_parts_are_taxed_and_labour_is_not(mode: str) -> None:
    # 6.25 % of 712.14 = 44.50875; 2 % = 14.2428. 4,000.00 + 58.75 = 4,058.75, to 4,059.
    totals = taxed(mode).totals
    assert shown(totals.base_taxes) == [("State", "712.14", "44.51"), ("City", "712.14", "14.24")]
    assert (str(totals.base_tax), str(totals.base_rounding), str(totals.base_with_tax)) == ("58.75", "0.25", "4059.00")

    # The limit has 12.11 more of parts at most: 6.25 % of 724.25 = 45.265625; 2 % = 14.485. 4,137.71 + 59.76 = 4,197.47.
    assert shown(totals.limit_taxes) == [("State", "724.25", "45.27"), ("City", "724.25", "14.49")]
    assert (str(totals.limit_tax), str(totals.limit_rounding), str(totals.limit_with_tax)) == ("59.76", "-0.47", "4197.00")


@pytest.mark.parametrize("mode", ["all_with_parts", "parts_and_labour"])
def test_parts_and_labour_are_taxed_where_there_are_parts(mode: str) -> None:
    # 6.25 % of 4,000.00 = 250.00; 2 % = 80.00.
    totals = taxed(mode).totals
    assert shown(totals.base_taxes) == [("State", "4000.00", "250.00"), ("City", "4000.00", "80.00")]
    assert (str(totals.base_tax), str(totals.base_rounding), str(totals.base_with_tax)) == ("330.00", "0.00", "4330.00")

    # What is set aside is taxed whole: 6.25 % of 4,137.71 = 258.606875; 2 % = 82.7542. 4,137.71 + 341.36 = 4,479.07.
    assert shown(totals.limit_taxes) == [("State", "4137.71", "258.61"), ("City", "4137.71", "82.75")]
    assert (str(totals.limit_tax), str(totals.limit_rounding), str(totals.limit_with_tax)) == ("341.36", "-0.07", "4479.00")


@pytest.mark.parametrize("mode", ["none", "lump_sum"])
def test_nothing_is_taxed_where_the_shop_pays_tax_on_what_it_uses_or_there_is_none(mode: str) -> None:
    # 4,137.71 to 4,138.
    totals = taxed(mode).totals
    assert (totals.base_taxes, totals.limit_taxes) == ((), ())
    assert (totals.base_tax, totals.limit_tax) == (Decimal(0), Decimal(0))
    assert (str(totals.base_with_tax), str(totals.limit_with_tax)) == ("4000.00", "4138.00")
    assert (str(totals.base_rounding), str(totals.limit_rounding)) == ("0.00", "0.29")


# Classes of the shop's lines --------------------------------------------------------------------------------

# Supplies 60.00 and the minimum 508.21 outside of every tax, overhead 258.65 as parts: parts 910.79, labour 2,521.00.
OTHERWISE = {"supplies_tax_class": "untaxed", "overhead_tax_class": "parts", "minimum_tax_class": "untaxed"}


def test_lines_of_the_shop_go_where_their_class_says_in_a_mode_of_parts() -> None:
    # 6.25 % of 910.79 = 56.924375; 2 % = 18.2158. In the limit 922.90: 57.68125 and 18.458.
    totals = taxed("parts_only", **OTHERWISE).totals
    assert shown(totals.base_taxes) == [("State", "910.79", "56.92"), ("City", "910.79", "18.22")]
    assert shown(totals.limit_taxes) == [("State", "922.90", "57.68"), ("City", "922.90", "18.46")]


def test_what_is_outside_of_every_tax_stays_outside_where_labour_is_taxed() -> None:
    # 4,000.00 - 568.21 = 3,431.79: 6.25 % = 214.486875; 2 % = 68.6358. In the limit 3,569.50: 223.09375 and 71.39.
    totals = taxed("parts_and_labour", **OTHERWISE).totals
    assert shown(totals.base_taxes) == [("State", "3431.79", "214.49"), ("City", "3431.79", "68.64")]
    assert shown(totals.limit_taxes) == [("State", "3569.50", "223.09"), ("City", "3569.50", "71.39")]


def test_the_minimum_as_parts_is_taxed_as_parts() -> None:
    # 712.14 + 508.21 = 1,220.35: 6.25 % = 76.271875; 2 % = 24.407.
    totals = taxed("separated", minimum_tax_class="parts").totals
    assert shown(totals.base_taxes) == [("State", "1220.35", "76.27"), ("City", "1220.35", "24.41")]


def test_no_class_moves_a_price_before_tax() -> None:
    for mode in TAX_MODES:
        totals = taxed(mode, **OTHERWISE).totals
        assert (str(totals.base), str(totals.limit)) == ("4000.00", "4137.71")


# Where modes part ways --------------------------------------------------------------------------------------


def test_labour_alone_is_taxed_in_one_mode_only() -> None:
    # Under "all, once any part is supplied" a charge without parts is free of tax; a part of a cent makes all of it taxable.
    labour = {"labour": Decimal("2521.00")}
    one_part = {**labour, "parts": Decimal("0.01")}
    by_mode = {mode: (str(taxable(labour, mode)), str(taxable(one_part, mode))) for mode in TAX_MODES}

    assert by_mode == {
        "none": ("0", "0"),
        "parts_only": ("0", "0.01"),
        "separated": ("0", "0.01"),
        "all_with_parts": ("0", "2521.01"),
        "parts_and_labour": ("2521.00", "2521.01"),
        "lump_sum": ("0", "0"),
    }


def test_parts_are_taxed_however_small_their_share_of_the_charge_is() -> None:
    # Parts of 5.00 beside 2,521.00 are far less than a tenth. A quote states its parts line by line, and so they are taxed; a
    # shop that states one sum and pays tax on its parts itself says lump_sum.
    small = {"labour": Decimal("2521.00"), "parts": Decimal("5.00")}

    assert (str(taxable(small, "parts_only")), str(taxable(small, "lump_sum"))) == ("5.00", "0")


# Deposit ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mode", "share", "deposit"),
    [
        # Of visible work with tax after the owner's rounding: 30 % of 4,330.00, of 4,059.00, of 4,000.00.
        ("parts_and_labour", "0.30", "1299.00"),
        ("parts_only", "0.30", "1217.70"),
        ("none", "0.30", "1200.00"),
        # A third of 4,059.00 is 1,352.8647; nothing at all; everything.
        ("parts_only", "0.3333", "1352.86"),
        ("parts_only", "0", "0.00"),
        ("parts_only", "1", "4059.00"),
    ],
)
def test_the_deposit_is_a_share_of_visible_work_with_tax(mode: str, share: str, deposit: str) -> None:
    assert str(taxed(mode, deposit_share=Decimal(share)).totals.deposit) == deposit


# Supplies, overhead, minimum --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "lines"),
    [
        # 3 % of 2,521.00 = 75.63, under a cap of 100 and over one of 75.62; 8 % of 3,248.77 = 259.9016, of 3,248.76 = 259.9008.
        ({"supplies_cap": Decimal(100)}, {"shop-supplies": "75.63", "overhead": "259.90"}),
        ({"supplies_cap": Decimal("75.62")}, {"shop-supplies": "75.62", "overhead": "259.90"}),
        ({"supplies_cap": None}, {"shop-supplies": "75.63", "overhead": "259.90"}),
        # Without supplies overhead is 8 % of 3,173.14 = 253.8512.
        ({"supplies_share": Decimal(0)}, {"overhead": "253.85"}),
        # Without overhead 3,233.14 stand, and 266.86 are missing to 3,500.
        (
            {"overhead_share": Decimal(0), "minimum_charge": Decimal(3500)},
            {"shop-supplies": "60.00", "minimum-charge": "266.86"},
        ),
        # 3,491.79 reach a minimum of as much, and miss one by a cent.
        ({"minimum_charge": Decimal("3491.79")}, {"shop-supplies": "60.00", "overhead": "258.65"}),
        (
            {"minimum_charge": Decimal("3491.80")},
            {"shop-supplies": "60.00", "overhead": "258.65", "minimum-charge": "0.01"},
        ),
        ({"supplies_share": Decimal(0), "overhead_share": Decimal(0), "minimum_charge": Decimal(0)}, {}),
    ],
)
def test_the_shop_s_lines(rule: dict[str, Any], lines: dict[str, str]) -> None:
    visible = quoted(**{"minimum_charge": Decimal(0), **rule}).visible

    assert {line.slug: str(line.amount) for line in visible.shop} == lines
    # 2,521.00 and 652.14 before them.
    assert visible.base == Decimal("3173.14") + sum(map(Decimal, lines.values()))
