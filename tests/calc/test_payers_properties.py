"""Whatever the quote, the payers and the rules: together the payers pay the quote, and nobody less than nothing."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.cost_base import TaxRate
from costbase.calc.money import currency, to_step
from quotes.calc.payers import (
    CAUSES,
    Charge,
    Figures,
    Hidden,
    Payer,
    Portion,
    Rule,
    Split,
    split_quote,
    why_payer,
)
from quotes.calc.tax import TAX_MODES, sum_by_class, taxable, taxable_limit, work_tax
from tests.oracles.plain_payers import exact_lines, exact_parts

CURRENCIES = [currency(code) for code in ("USD", "JPY", "KWD")]
SECTIONS = ("", "main", "slide")
ASSEMBLIES = ("skin-off", "deck-on", "cap-reseal")
PHASES = ("strip", "skin", "seal")
TRADES = ("technician", "helper")
LABELS = ("owner", "insurer", "second-insurer", "warranty", "fleet")
PAYERS = (("insurer", "insurer"), ("second-insurer", "insurer"), ("warranty", "warranty"), ("fleet", "fleet"))


def amounts(digits: int, most: int = 300_000) -> st.SearchStrategy[Decimal]:
    return st.integers(0, most).map(lambda units: Decimal(units).scaleb(-digits))


portions = st.builds(
    Portion,
    st.sampled_from(ASSEMBLIES),
    st.sampled_from(PHASES),
    st.sampled_from(SECTIONS),
    st.one_of(st.just(Decimal(0)), st.integers(1, 9_999).map(lambda n: Decimal(n).scaleb(-3))),
)


@st.composite
def charges(draw: st.DrawFn, digits: int) -> tuple[Charge, ...]:
    lines = []
    for position in range(1, draw(st.integers(1, 7)) + 1):
        kind, tax_class = draw(st.sampled_from((("labour", "labour"), ("material", "parts"), ("material", "untaxed"))))
        trade = draw(st.sampled_from(TRADES)) if kind == "labour" else ""
        quantity = draw(amounts(4, 2_000_000))
        parts = tuple(draw(st.lists(portions, min_size=1, max_size=4)))
        slug = parts[0].assembly
        line = Charge(position, kind, slug, trade, slug, parts[0].phase, tax_class, quantity, "h", draw(amounts(digits)), parts)
        lines.append(line)
    for slug, tax_class in (("shop-supplies", "parts"), ("overhead", "labour")):
        if draw(st.booleans()):
            amount = draw(amounts(digits))
            lines.append(
                Charge(len(lines) + 1, "shop", slug, "", slug, "", tax_class, Decimal(1), "job", amount, ())
            )  # fmt: skip
    return tuple(lines)


@st.composite
def components(draw: st.DrawFn, digits: int) -> tuple[Hidden, ...]:
    found = []
    for position, slug in enumerate(draw(st.lists(st.sampled_from(("deck", "edge", "core")), unique=True)), 1):
        parts = tuple(Portion("", "", part.section, part.weight) for part in draw(st.lists(portions, min_size=1, max_size=3)))
        found.append(Hidden(position, slug, slug, draw(amounts(digits, 50_000)), draw(amounts(digits)), parts))
    return tuple(found)


@st.composite
def quotes(draw: st.DrawFn) -> Figures:
    """A quote whose tax and rounding are worked as the service works them."""
    cur = draw(st.sampled_from(CURRENCIES))
    lines, hidden = draw(charges(cur.digits)), draw(components(cur.digits))
    base = sum((line.amount for line in lines), Decimal(0))
    contingency = sum((part.allowance for part in hidden), Decimal(0)) + draw(amounts(cur.digits, 9_000))
    # The record of an open price; it takes back no more than the visible work.
    record = max(-base, draw(st.sampled_from((Decimal(0), Decimal(700), Decimal(-700)))))
    mode, step = draw(st.sampled_from(TAX_MODES)), draw(st.sampled_from((Decimal(0), Decimal(1), Decimal(5))))
    rates = (TaxRate("State", Decimal("0.0625")), TaxRate("City", Decimal("0.02")))
    by_class = sum_by_class((line.tax_class, line.amount) for line in lines)
    share = draw(st.sampled_from((Decimal(0), Decimal("0.31"), Decimal(1))))
    taxed = taxable(by_class, mode)
    most = taxable_limit(by_class, mode, contingency=contingency, record=record, material_share=share, currency=cur)
    base_taxes, limit_taxes = (work_tax(part, rates, cur) if part > 0 else () for part in (taxed, most))
    limit = base + record + contingency
    base_due, limit_due = (
        net + sum((tax.amount for tax in taxes), Decimal(0)) for net, taxes in ((base, base_taxes), (limit, limit_taxes))
    )
    base_with_tax, limit_with_tax = to_step(base_due, step, cur), to_step(limit_due, step, cur)
    return Figures(
        lines, hidden, mode, base, base_taxes, base_with_tax - base_due, base_with_tax, record, contingency, limit, limit_taxes,
        limit_with_tax - limit_due, limit_with_tax, cur,
    )  # fmt: skip


@st.composite
def parties(draw: st.DrawFn, digits: int) -> tuple[tuple[Payer, ...], tuple[Rule, ...]]:
    chosen = draw(st.lists(st.sampled_from(PAYERS), unique=True))
    payers = tuple(
        Payer(label, kind, draw(amounts(digits)) if kind in ("insurer", "warranty") else Decimal(0)) for label, kind in chosen
    )
    subjects: list[tuple[str, str, str]] = [
        *(("assembly", slug, "") for slug in ASSEMBLIES), ("assembly", "skin-off", "helper"), ("component", "deck", ""),
        ("component", "core", ""), ("section", "main", ""), ("section", "slide", ""), ("phase", "strip", ""),
        ("line", "overhead", ""), ("line", "deck-on", "technician"), ("everything", "", ""),
    ]  # fmt: skip
    rules = draw(st.lists(st.tuples(st.sampled_from(subjects), st.sampled_from(sorted(CAUSES))), max_size=6))
    labels = ("owner", *(payer.label for payer in payers))
    return payers, tuple(Rule(*subject, draw(st.sampled_from(labels)), cause) for subject, cause in rules)


@st.composite
def splits(draw: st.DrawFn) -> Split:
    figures = draw(quotes())
    return split_quote(figures, *draw(parties(figures.currency.digits)))


def added(split: Split, of: Any) -> Decimal:
    return sum((of(share) for share in split.shares), Decimal(0))


@settings(max_examples=100)
@given(splits())
def test_the_payers_together_pay_the_quote(split: Split) -> None:
    figures = split.figures

    assert added(split, lambda share: share.base.net) == figures.base
    assert added(split, lambda share: share.base.total) == figures.base_with_tax
    assert added(split, lambda share: share.record) == figures.record
    assert added(split, lambda share: share.contingency) == figures.contingency
    assert added(split, lambda share: share.limit.net) == figures.limit
    assert added(split, lambda share: share.limit.total) == figures.limit_with_tax
    assert added(split, lambda share: share.base.deductible) == added(split, lambda share: share.limit.deductible) == 0
    for at, tax in enumerate(figures.base_taxes):
        assert added(split, lambda share, at=at: share.base.taxes[at].amount) == tax.amount
        assert added(split, lambda share, at=at: share.base.taxes[at].base) == tax.base
    for at, tax in enumerate(figures.limit_taxes):
        assert added(split, lambda share, at=at: share.limit.taxes[at].amount) == tax.amount
        assert added(split, lambda share, at=at: share.limit.taxes[at].base) == tax.base


@settings(max_examples=100)
@given(splits())
def test_nobody_pays_less_than_nothing(split: Split) -> None:
    for share in split.shares:
        assert share.base.total >= 0
        assert share.limit.total >= 0
        assert all(part.amount >= 0 and part.quantity >= 0 for part in share.charges)
        assert all(part.allowance >= 0 and part.contingency >= 0 for part in share.hidden)
        assert all(tax.amount >= 0 for tax in (*share.base.taxes, *share.limit.taxes))
        assert -share.payer.deductible <= min(share.base.deductible, share.limit.deductible)


@settings(max_examples=100)
@given(splits())
def test_the_parts_of_a_line_are_the_line(split: Split) -> None:
    for charge in split.figures.charges:
        parts = [part for share in split.shares for part in share.charges if part.charge is charge]
        assert sum((part.amount for part in parts), Decimal(0)) == charge.amount
        assert sum((part.quantity for part in parts), Decimal(0)) == charge.quantity
    for hidden in split.figures.hidden:
        shares = [part for share in split.shares for part in share.hidden if part.hidden is hidden]
        assert sum((part.allowance for part in shares), Decimal(0)) == hidden.allowance


@settings(max_examples=50)
@given(splits())
def test_every_total_is_explained_to_the_last_coin(split: Split) -> None:
    for position, share in enumerate(split.shares, 1):
        for total, value in (("total", share.base.total), ("limit_with_tax", share.limit.total)):
            why = why_payer(split, position, total)
            assert sum((step.amount for step in why.steps if step.adds), Decimal(0)) == why.value == value


@settings(max_examples=50)
@given(quotes())
def test_a_payer_of_everything_pays_what_an_owner_alone_would(figures: Figures) -> None:
    insurer = (Payer("insurer", "insurer"),)
    split = split_quote(figures, insurer, (Rule("everything", "", "", "insurer", "storm"),))
    owner, other = split.shares

    if any(charge.amount for charge in figures.charges if charge.portions):
        assert owner.base.net == 0
        assert other.base.tax == sum((tax.amount for tax in figures.base_taxes), Decimal(0))


@settings(max_examples=100)
@given(splits())
def test_every_part_is_within_a_coin_of_what_is_worked_out_exactly(split: Split) -> None:
    coin = Fraction(1, 10**split.figures.currency.digits)
    for position, exact in exact_lines(split.figures, split.rules).items():
        found = {
            (part.payer, part.cause): Fraction(part.amount)
            for share in split.shares
            for part in share.charges
            if part.charge.position == position
        }
        assert set(found) == set(exact)
        assert all(abs(found[key] - exact[key]) < coin for key in exact)
    for hidden in split.figures.hidden:
        parts = [part for share in split.shares for part in share.hidden if part.hidden is hidden]
        allowances = exact_parts(hidden, Fraction(hidden.allowance), split.rules)
        assert {(part.payer, part.cause) for part in parts} == set(allowances)
        assert all(abs(Fraction(part.allowance) - allowances[part.payer, part.cause]) < coin for part in parts)
