"""Who pays for which line: an example by hand, and rules that fit or do not."""

from dataclasses import replace
from decimal import Decimal

import pytest

from costbase.calc.errors import CalculationFaults
from quotes.calc.payers import (
    NoSuchPayerError,
    Payer,
    PayerError,
    Rule,
    split_quote,
    why_payer,
)
from tests.calc.payer_cases import (
    INSURER,
    RULES,
    WARRANTY,
    D,
    figures,
    labour,
    of_shop,
    parts,
    rule,
    share,
    taxes,
)

# The example: storm over the cab, a cap that an earlier repair let leak, the rest worn -----------------------

# Lines. Skin off 1000.00 by driver, 3 : 1. Membrane 500.00 by net need, 30 : 10. So owner 750 + 800 + 375 = 1925.00, insurer
# 250.00, warranty 125 + 180.01 = 305.01 of 2480.01.
# Supplies 60.00: 46.5724, 6.0484, 7.3792; cut down 46.57, 6.04, 7.37; two cents to the largest rests, warranty and insurer.
# Overhead 203.20: 157.7252, 20.4838, 24.9910; cut down 157.72, 20.48, 24.99; one cent to the owner.
# Net 2129.30, 276.53, 337.38, together 2743.21.
# Tax 226.31: 175.6635, 22.8132, 27.8333; one cent to the owner: 175.67, 22.81, 27.83.
# Together 2304.97, 299.34, 365.21. Deductible 250.00 from the insurer to the owner, rounding 0.48 to the owner.


def test_the_lines_of_the_example_are_shared_out() -> None:
    split = split_quote(figures(), (INSURER, WARRANTY), RULES)

    assert parts(split, "owner") == [
        "skin-off 7.5000 h 750.00 not-said",
        "membrane-on 8.0000 h 800.00 not-said",
        "membrane 3.0000 roll 375.00 not-said",
        "shop-supplies 0.7762 job 46.57 not-said",
        "overhead 0.7762 job 157.73 not-said",
    ]
    assert parts(split, "insurer") == [
        "skin-off 2.5000 h 250.00 storm",
        "shop-supplies 0.1008 job 6.05 storm",
        "overhead 0.1008 job 20.48 storm",
    ]
    assert parts(split, "warranty") == [
        "membrane 1.0000 roll 125.00 earlier-repair",
        "cap-reseal 3.0002 h 180.01 earlier-repair",
        "shop-supplies 0.1230 job 7.38 earlier-repair",
        "overhead 0.1230 job 24.99 earlier-repair",
    ]
    assert split.warnings == ()


@pytest.mark.parametrize(
    ("label", "net", "tax", "deductible", "rounding", "total"),
    [
        ("owner", "2129.30", "175.67", "250.00", "0.48", "2555.45"),
        ("insurer", "276.53", "22.81", "-250.00", "0", "49.34"),
        ("warranty", "337.38", "27.83", "0", "0", "365.21"),
    ],
)
def test_what_each_payer_of_the_example_pays(
    label: str, net: str, tax: str, deductible: str, rounding: str, total: str
) -> None:
    due = share(split_quote(figures(), (INSURER, WARRANTY), RULES), label).base

    assert (due.net, due.tax, due.deductible, due.rounding, due.total) == (D(net), D(tax), D(deductible), D(rounding), D(total))


# Contingency 137.71 by the allowances 30.00 and 11.32: 99.9831 and 37.7269, so 99.98 to the insurer and 37.73 to the owner.
# Limits 2167.03, 376.51, 337.38. Tax 237.68: 178.7831, 31.0626, 27.8343; one cent to the warranty.
@pytest.mark.parametrize(
    ("label", "contingency", "net", "tax", "total"),
    [
        ("owner", "37.73", "2167.03", "178.78", "2596.21"),
        ("insurer", "99.98", "376.51", "31.06", "157.57"),
        ("warranty", "0", "337.38", "27.84", "365.22"),
    ],
)
def test_what_each_payer_of_the_example_pays_at_most(label: str, contingency: str, net: str, tax: str, total: str) -> None:
    found = share(split_quote(figures(), (INSURER, WARRANTY), RULES), label)

    assert (found.contingency, found.limit.net, found.limit.tax) == (D(contingency), D(net), D(tax))
    assert found.limit.total == D(total)


def test_causes_are_added_up_before_tax() -> None:
    split = split_quote(figures(), (INSURER, WARRANTY), RULES)

    assert share(split, "insurer").by_cause() == {"storm": D("276.53")}
    assert share(split, "warranty").by_cause() == {"earlier-repair": D("337.38")}


def test_without_payers_everything_is_the_owners() -> None:
    split = split_quote(figures(), (), ())

    (owner,) = split.shares
    assert (owner.base.total, owner.limit.total) == (D("2970.00"), D("3119.00"))


# Deductible and rounding -------------------------------------------------------------------------------------


def test_a_deductible_is_never_more_than_the_insurers_total() -> None:
    # The insurer comes to 299.34 on the visible work and to 407.57 on the limit.
    split = split_quote(figures(), (replace(INSURER, deductible=D("400.00")), WARRANTY), RULES)

    insurer, owner = share(split, "insurer"), share(split, "owner")
    assert (insurer.base.deductible, insurer.base.total) == (D("-299.34"), D("0.00"))
    assert (insurer.limit.deductible, insurer.limit.total) == (D("-400.00"), D("7.57"))
    assert (owner.base.deductible, owner.limit.deductible) == (D("299.34"), D("400.00"))


def test_rounding_down_stays_with_the_owner_as_far_as_he_pays_anything() -> None:
    # 2743.21 + 226.31 = 2969.52 to steps of 5 is 2970; to steps of 100 it would be 3000. Here 2969.52 becomes 2969.00.
    lower = figures(base_rounding=D("-0.52"), base_with_tax=D("2969.00"))
    insurer = Payer("insurer", "insurer")

    alone = split_quote(lower, (insurer,), (rule("everything", "", "insurer"),))
    shared = split_quote(lower, (insurer,), (rule("section", "over cab", "insurer"),))

    assert (share(alone, "owner").base.total, share(alone, "insurer").base.total) == (D(0), D("2969.00"))
    assert (share(shared, "owner").base.rounding, share(shared, "insurer").base.rounding) == (D("-0.52"), D(0))


# Rules --------------------------------------------------------------------------------------------------------


def test_the_first_rule_that_fits_decides() -> None:
    first = (rule("phase", "seal", "insurer"), rule("assembly", "cap-reseal", "warranty"))
    split = split_quote(figures(), (INSURER, WARRANTY), first)

    assert [line.split()[0] for line in parts(split, "insurer")] == ["membrane", "cap-reseal", "shop-supplies", "overhead"]
    assert parts(split, "warranty") == []
    assert split.warnings == ("rule 2 (assembly cap-reseal) gives nothing: earlier rules have given all that it speaks of",)


def test_goods_follow_the_phase_of_the_work_that_needs_them() -> None:
    # The membrane line stands in phase skin; a quarter of it is needed by work of phase seal.
    split = split_quote(figures(), (INSURER,), (rule("phase", "seal", "insurer"),))

    assert parts(split, "insurer")[0] == "membrane 1.0000 roll 125.00 storm"


def test_a_rule_by_line_takes_the_whole_line_and_one_trade_of_it() -> None:
    lines = (
        labour(1, "skin-off", "strip", "2.0000", "200.00"),
        labour(2, "skin-off", "strip", "1.0000", "60.00", trade="helper"),
        of_shop(3, "overhead", "20.80", "labour"),
    )
    small = figures(
        charges=lines, hidden=(), base=D("280.80"), base_taxes=(), limit_taxes=(), contingency=D("0.00"), limit=D("280.80"),
        base_rounding=D(0), limit_rounding=D(0), tax_mode="none",
    )  # fmt: skip
    rules = (rule("line", "skin-off", "insurer", trade="helper"), rule("line", "overhead", "insurer"))
    split = split_quote(small, (Payer("insurer", "insurer"),), rules)

    assert parts(split, "insurer") == ["skin-off 1.0000 h 60.00 storm", "overhead 1.0000 job 20.80 storm"]
    assert parts(split, "owner") == ["skin-off 2.0000 h 200.00 not-said"]


def test_everything_gives_a_cause_to_the_owners_rest() -> None:
    split = split_quote(
        figures(), (INSURER,), (rule("section", "over cab", "insurer"), rule("everything", "", "owner", "wear"))
    )

    assert set(share(split, "owner").by_cause()) == {"wear"}


def test_a_rule_that_fits_nothing_is_told_and_gives_nothing() -> None:
    split = split_quote(figures(), (INSURER,), (rule("assembly", "gutter-on", "insurer"),))

    assert share(split, "insurer").base.total == 0
    words = "rule 1 (assembly gutter-on) speaks of nothing in this quote; it is kept, and gives nothing"
    assert split.warnings == (words,)


def test_a_shop_line_alone_is_the_owners() -> None:
    only = figures(
        charges=(of_shop(1, "minimum-charge", "90.00", "labour"),), hidden=(), base=D("90.00"), limit=D("90.00"),
        contingency=D("0.00"), base_taxes=(), limit_taxes=(), base_rounding=D(0), limit_rounding=D(0), tax_mode="none",
    )  # fmt: skip
    split = split_quote(only, (INSURER,), (rule("everything", "", "insurer"),))

    assert (share(split, "owner").base.total, share(split, "insurer").base.total) == (D("90.00"), D("0.00"))


# Tax ----------------------------------------------------------------------------------------------------------


def test_where_parts_alone_are_taxed_who_pays_for_labour_pays_no_tax() -> None:
    # Parts 500.00 + supplies 60.00 = 560.00 x 8.25 % = 46.20. The owner has 375.00 + 46.57, the insurer 6.05 of supplies, the
    # warranty 125.00 + 7.38: 46.20 x 421.57 / 560 = 34.7795, 0.4991, 10.9214; cut down 34.77, 0.49, 10.92; the insurer's rest
    # .9125 and the owner's .9525 are the largest.
    split = split_quote(
        figures(tax_mode="parts_only", base_taxes=taxes("560.00", "46.20"), limit_taxes=taxes("560.00", "46.20")),
        (INSURER, WARRANTY),
        RULES,
    )

    assert [str(share.base.tax) for share in split.shares] == ["34.78", "0.50", "10.92"]
    assert [str(share.base.taxes[0].base) for share in split.shares] == ["421.57", "6.05", "132.38"]


# What is refused ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("payers", "rules", "field"),
    [
        ((INSURER, INSURER), (), "payers/1/label"),
        ((Payer("owner", "insurer"),), (), "payers/0/label"),
        ((Payer("me", "owner"),), (), "payers/0/label"),
        ((Payer("works", "fleet", D(1)),), (), "payers/0/deductible"),
        ((Payer("x", "bank"),), (), "payers/0/kind"),
        ((), (rule("assembly", "skin-off", "insurer"),), "rules/0/payer"),
        ((), (rule("roof", "skin-off", "owner"),), "rules/0/by"),
        ((), (rule("assembly", "", "owner"),), "rules/0/of"),
        ((), (rule("everything", "all", "owner"),), "rules/0/of"),
        ((), (rule("section", "main", "owner", trade="helper"),), "rules/0/trade"),
        ((), (rule("section", "main", "owner", "moths"),), "rules/0/cause"),
    ],
)
def test_what_contradicts_itself_is_refused_at_its_place(
    payers: tuple[Payer, ...], rules: tuple[Rule, ...], field: str
) -> None:
    with pytest.raises(PayerError) as refused:
        split_quote(figures(), payers, rules)
    assert refused.value.field == field


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(CalculationFaults) as refused:
        split_quote(figures(), (INSURER, INSURER), (rule("assembly", "skin-off", "nobody"),))
    assert [fault.field for fault in refused.value.faults] == ["payers/1/label", "rules/0/payer"]


# Why ----------------------------------------------------------------------------------------------------------


def test_the_steps_of_the_insurer_in_the_example() -> None:
    why = why_payer(split_quote(figures(), (INSURER, WARRANTY), RULES), 2)

    assert [(step.text, str(step.amount)) for step in why.steps] == [
        ("labour: skin-off, technician: 2.5000 of 10.0000 h, part of 1000.00", "250.00"),
        ("shop: shop-supplies: 0.1008 of 1 job, part of 60.00", "6.05"),
        ("shop: overhead: 0.1008 of 1 job, part of 203.20", "20.48"),
        ("visible work: the sum of the parts of lines", "276.53"),
        ("tax on it, State: part of 226.31", "22.81"),
        ("less the deductible, at most what stands above", "-250.00"),
        ("sum", "49.34"),
    ]
    assert why.steps[0].source == "rule 1 (section over cab); storm, hail or wind"
    assert why.value == D("49.34")


@pytest.mark.parametrize("total", ["total", "limit_with_tax"])
def test_the_steps_that_add_come_to_the_total(total: str) -> None:
    split = split_quote(figures(record=D("-20.00"), limit=D("2860.92")), (INSURER, WARRANTY), RULES)

    for position in (1, 2, 3):
        why = why_payer(split, position, total)
        assert sum((step.amount for step in why.steps if step.adds), Decimal(0)) == why.value


@pytest.mark.parametrize(("position", "total"), [(0, "total"), (4, "total"), (1, "cost")])
def test_nothing_else_is_explained(position: int, total: str) -> None:
    with pytest.raises(NoSuchPayerError):
        why_payer(split_quote(figures(), (INSURER, WARRANTY), RULES), position, total)
