"""Whatever was found, counted, ordered and taken back: no bill passes what was authorised, and all of it adds up."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.cost_base import TaxRate
from costbase.calc.money import Currency, currency, extend, share_down, to_step
from quotes.calc.bill import (
    CUT,
    Billed,
    CountedCredit,
    Draw,
    FurtherLine,
    Item,
    Logged,
    Terms,
    agreed_items,
    at_stage,
    billed,
    counted_items,
    credit_items,
    draw_items,
    further_items,
    goodwill_items,
    left_to_credit,
    open_items,
    phases_of,
)
from quotes.calc.payers import Charge, Figures, Hidden, Payer, Portion, Rule, whose
from quotes.calc.tax import TAX_MODES, sum_by_class, taxable_limit, work_tax
from tests.scenarios.small_roof import rule

CURRENCIES = [currency(code) for code in ("USD", "JPY", "KWD")]
# Invented, to leave remainders.
RATES = (TaxRate("First", Decimal("0.0825")), TaxRate("Second", Decimal("0.01375")))
PHASES = ("strip", "deck", "seal")
LABELS = ("owner", "insurer", "fleet")
NONE = Decimal(0)


def coins(cur: Currency, low: int, high: int) -> st.SearchStrategy[Decimal]:
    return st.integers(low, high).map(lambda n: Decimal(n).scaleb(-cur.digits))


shares = st.integers(0, 1000).map(lambda n: Decimal(n).scaleb(-3))


@dataclass(frozen=True)
class Job:
    """A firm job with everything that happened to it, in the order in which it may happen."""

    items: tuple[Item, ...]
    terms: Terms
    payers: tuple[Payer, ...]


@st.composite
def charges(draw: st.DrawFn, cur: Currency) -> tuple[Charge, ...]:
    lines = []
    for position in range(1, draw(st.integers(1, 5)) + 1):
        kind, tax_class = draw(st.sampled_from((("labour", "labour"), ("material", "parts"), ("material", "untaxed"))))
        phase = draw(st.sampled_from(PHASES))
        assemblies = ("a", "b")[: draw(st.integers(1, 2))]
        portions = tuple(Portion(assembly, phase, "", Decimal(draw(st.integers(1, 9)))) for assembly in assemblies)
        lines.append(
            Charge(
                position,
                kind,
                f"s{position}",
                "",
                "n",
                phase,
                tax_class,
                Decimal(1),
                "h",
                draw(coins(cur, 0, 90_000)),
                portions,
            )
        )
    for slug, tax_class in (("shop-supplies", "parts"), ("overhead", "labour")):
        lines.append(
            Charge(len(lines) + 1, "shop", slug, "", slug, "", tax_class, Decimal(1), "job", draw(coins(cur, 0, 20_000)), ())
        )
    return tuple(lines)


@st.composite
def figures(draw: st.DrawFn, cur: Currency, mode: str) -> Figures:
    lines = draw(charges(cur))
    hidden = (Hidden(1, "deck", "deck", draw(coins(cur, 0, 9_000)), NONE, (Portion("", "", "", Decimal(1)),)),)
    pot = draw(coins(cur, 0, 30_000))
    return Figures(lines, hidden, mode, NONE, (), NONE, NONE, NONE, pot, NONE, (), NONE, NONE, cur)


@st.composite
def draws(draw: st.DrawFn, cur: Currency, pot: Decimal, largest: Decimal) -> list[Draw]:
    """Found notes that the pot can bear, some of them corrected away: extent x unit price, and the set-up once."""
    notes: list[Draw] = []
    left = pot
    for _ in range(draw(st.integers(0, 6))):
        share = draw(st.integers(0, 1000).map(lambda n: largest * n / 1000))
        work = extend(draw(st.integers(1, 90_000).map(lambda n: Decimal(n).scaleb(-4))), draw(coins(cur, 1, 9_000)), cur)
        amount = work + (draw(coins(cur, 0, 4_000)) if not notes else NONE)
        if amount > left:
            continue
        left -= amount
        note = Draw(len(notes) + 1, 1, "deck", amount, share_down(work, share, cur), Decimal(1), "sq ft", NONE)
        notes.append(note)
        if draw(st.booleans()):
            notes.append(
                replace(note, number=note.number + 1, corrects=note.number, amount=-note.amount, material=-note.material)
            )
            left += amount
    return notes


@st.composite
def orders(draw: st.DrawFn, cur: Currency) -> list[FurtherLine]:
    return [
        FurtherLine(
            1, at, "more", "labour", "deck", draw(st.sampled_from(("labour", "parts", "untaxed"))), draw(coins(cur, 0, 50_000)),
            Decimal(1), "h", NONE, draw(st.sampled_from(LABELS)),
        )
        for at in range(draw(st.integers(0, 3)))
    ]  # fmt: skip


def signed(agreed: Figures, more: Sequence[FurtherLine], mode: str, largest: Decimal, step: Decimal) -> Decimal:
    """The limit with tax as it is signed: contingency and all that was consented to since, tax once on the sum."""
    cur, pot = agreed.currency, agreed.contingency
    lines = [(line.tax_class, line.amount) for line in agreed.charges] + [(line.tax_class, line.amount) for line in more]
    base = taxable_limit(sum_by_class(lines), mode, contingency=pot, record=NONE, material_share=largest, currency=cur)
    tax = sum((tax.amount for tax in work_tax(base, RATES, cur)), NONE) if base > 0 else NONE
    return to_step(sum((amount for _, amount in lines), NONE) + pot + tax, step, cur)


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    cur, mode = draw(st.sampled_from(CURRENCIES)), draw(st.sampled_from(TAX_MODES))
    agreed, largest = draw(figures(cur, mode)), draw(shares)
    more, step = draw(orders(cur)), draw(st.sampled_from((NONE, Decimal(1), Decimal(5))))
    payers = (Payer("insurer", "insurer", draw(coins(cur, 0, 60_000))), Payer("fleet", "fleet"))
    subjects = [("assembly", "a"), ("assembly", "b"), ("component", "deck"), ("phase", "deck"), ("everything", "")]
    rules = [
        Rule(*draw(st.sampled_from(subjects)), "", draw(st.sampled_from(LABELS)), "storm")
        for _ in range(draw(st.integers(0, 3)))
    ]
    of = whose(agreed, payers, rules)
    some = st.booleans()
    fewer = [
        CountedCredit(line.position, "a", share_down(line.amount, draw(shares), cur), "")
        for line in agreed.charges
        if line.portions
        if draw(some)
    ]
    items = (
        *agreed_items(of), *counted_items(fewer, of), *draw_items(draw(draws(cur, agreed.contingency, largest)), of),
        *further_items(more),
    )  # fmt: skip
    shop_rule = replace(rule(), tax_mode=mode, tax_rates=RATES, total_step=step)
    return Job(items, Terms(shop_rule, cur, signed(agreed, more, mode, largest, step)), payers)


def bill_of(job: Job, items: Sequence[Item] | None = None) -> Billed:
    return billed(job.items if items is None else items, job.terms, job.payers)


def invoice_holds(bill: Billed, terms: Terms) -> None:
    """The rules of EN 16931-1:2017 on the sums of a document, in Fractions, with nothing of the service's own."""
    unit = Fraction(1, 10**terms.currency.digits)
    # BR-CO-10 and 13: the total without tax is the sum of all lines, allowances taken off.
    assert bill.net == sum((item.amount for item in bill.items), NONE) == sum(bill.by_class.values(), NONE)
    # BR-CO-14 and 15: tax is the sum of its parts, the total with tax adds it; BR-CO-16: due adds the rounding.
    assert bill.tax == sum((tax.amount for tax in bill.taxes), NONE)
    assert bill.total == bill.net + bill.tax + bill.rounding
    # BR-CO-17: base x rate, rounded once, half up.
    for tax in bill.taxes:
        assert tax.amount == (Fraction(tax.base) * Fraction(tax.rate) / unit + Fraction(1, 2)).__floor__() * unit
    step = terms.rule.total_step
    assert abs(bill.rounding) <= step / 2
    assert not step or bill.total % step == 0


def payers_add_up(bill: Billed) -> None:
    assert sum((due.net for due in bill.dues), NONE) == bill.net
    assert sum((due.tax for due in bill.dues), NONE) == bill.tax
    assert sum((due.deductible for due in bill.dues), NONE) == 0
    assert sum((due.rounding for due in bill.dues), NONE) == bill.rounding
    assert sum((due.total for due in bill.dues), NONE) == bill.total
    for at, tax in enumerate(bill.taxes):
        assert sum((due.taxes[at].base for due in bill.dues), NONE) == tax.base
        assert sum((due.taxes[at].amount for due in bill.dues), NONE) == tax.amount


@settings(max_examples=300, deadline=None)
@given(jobs())
def test_no_firm_bill_passes_what_was_authorised(job: Job) -> None:
    # `billed` refuses where it would: that it does not is what is tested.
    bill = bill_of(job)
    assert NONE <= bill.total <= job.terms.authorised_with_tax
    invoice_holds(bill, job.terms)
    payers_add_up(bill)


@settings(max_examples=150, deadline=None)
@given(jobs(), st.lists(st.tuples(*[shares] * len(PHASES)), max_size=4))
def test_stages_add_up_to_the_final_bill(job: Job, stages: list[tuple[Decimal, ...]]) -> None:
    phases = phases_of(job.items)
    done = [{phase: share for phase, share in zip(PHASES, stage, strict=True) if phase in phases} for stage in stages]
    before = dict.fromkeys((payer.label for payer in bill_of(job).payers), NONE)
    due_in_all = NONE
    for items in (*(at_stage(job.items, one, job.terms.currency) for one in done), job.items):
        bill = bill_of(job, items)
        invoice_holds(bill, job.terms)
        payers_add_up(bill)
        for payer in before:
            due = bill.due(payer).total - before[payer]
            before[payer] += due
            due_in_all += due
    assert due_in_all == bill_of(job).total
    assert before == {payer: bill_of(job).due(payer).total for payer in before}


@settings(max_examples=150, deadline=None)
@given(jobs())
def test_a_stage_that_goes_on_is_never_less(job: Job) -> None:
    cur, phases = job.terms.currency, phases_of(job.items)
    agreed = [item for item in job.items if item.source == "agreed"]
    nothing, half, everything = (
        bill_of(job, at_stage(agreed, dict.fromkeys(phases, Decimal(share)), cur)) for share in ("0", "0.5", "1")
    )
    assert nothing.net <= half.net <= everything.net
    assert nothing.total <= half.total <= everything.total


@settings(max_examples=150, deadline=None)
@given(jobs())
def test_a_credit_of_everything_gives_nothing(job: Job) -> None:
    items = list(job.items)
    for payer in LABELS:
        left = left_to_credit(items, payer)
        if left:
            items += credit_items(items, payer, dict.fromkeys(left), f"B-{payer}", "all of it")
    bill = bill_of(job, items)
    assert {bill.net, bill.tax, bill.rounding, bill.total} == {NONE}
    assert all(due.total == 0 for due in bill.dues)
    assert not any(left_to_credit(items, payer) for payer in LABELS)


@settings(max_examples=150, deadline=None)
@given(jobs(), st.data())
def test_goodwill_lowers_a_payer_s_own_part_and_no_deductible(job: Job, data: st.DataObject) -> None:
    cur, label = job.terms.currency, data.draw(st.sampled_from(LABELS))
    before = bill_of(job)
    own = before.due(label).net
    if own <= 0 or any(item.part(label) < 0 for item in job.items):
        return
    given_up = data.draw(coins(cur, 1, int(own.scaleb(cur.digits))))
    kind = goodwill_items(job.items, label, given_up, "B-1", "late", cur)
    after = bill_of(job, [*job.items, *kind])
    assert after.due(label).net == own - given_up
    assert after.total <= before.total
    if label != "insurer":
        # A coin of the insurer's tax may go to another when tax is split anew; the deductible is of what there is.
        coin = Decimal(1).scaleb(-cur.digits)
        assert abs(after.due("insurer").deductible - before.due("insurer").deductible) <= 2 * coin
    payers_add_up(after)


LOGGED_AS = (("labour", "work", "strip", "labour"), ("material", "goods", "deck", "parts"))


@st.composite
def open_jobs(draw: st.DrawFn) -> tuple[Job, Decimal]:
    job = draw(jobs())
    cur = job.terms.currency
    logged = [
        Logged(
            f"line:{at}", *draw(st.sampled_from(LOGGED_AS)),
            Decimal(draw(st.integers(0, 900_000))).scaleb(-4), "h", draw(coins(cur, 1, 9_000)),
            {draw(st.sampled_from(LABELS)): Decimal(1)},
        )
        for at in range(draw(st.integers(0, 5)))
    ]  # fmt: skip
    others = [item for item in job.items if item.source in ("draw", "change_order")]
    limit = sum((item.amount for item in others if item.source == "change_order"), NONE) + draw(coins(cur, 0, 400_000))
    # What was signed holds at least what the limit is before tax.
    most = to_step(limit + draw(coins(cur, 0, 40_000)), job.terms.rule.total_step, cur)
    terms = replace(job.terms, authorised_with_tax=most)
    return replace(job, items=open_items(logged, others, terms, limit), terms=terms), limit


@settings(max_examples=200, deadline=None)
@given(open_jobs())
def test_work_by_the_hour_is_cut_at_the_limit_and_the_cut_shows(case: tuple[Job, Decimal]) -> None:
    job, limit = case
    bill = bill_of(job)
    assert bill.net <= limit
    assert bill.total <= job.terms.authorised_with_tax
    cut = [item for item in job.items if item.source == CUT]
    uncut = sum((item.amount for item in job.items if item.source != CUT), NONE)
    assert uncut + sum((item.amount for item in cut), NONE) == bill.net
    assert all(item.amount < 0 for item in cut)
    invoice_holds(bill, job.terms)
    payers_add_up(bill)
