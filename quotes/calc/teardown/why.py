"""The steps from what was opened to the chance of passing the limit, as `quotes/calc/why` tells those to a price."""

from collections.abc import Iterator, Sequence

from costbase.calc.money import Currency, amount
from quotes.calc.contingency import Exposure
from quotes.calc.teardown.steps import LookSteps
from quotes.calc.teardown.update import Closed, Terms, Update
from quotes.calc.why import Why, WhyStep
from quotes.calc.why.steps import number

_HOW = {
    "points": "the quote's sample points, weighed by what was opened",
    "conjugate": "opened components by themselves: too few sample points agree with what was opened",
}


def why_forecast(
    names: Sequence[tuple[str, str]],
    exposures: Sequence[Exposure],
    told: Update,
    steps: Sequence[LookSteps],
    terms: Terms,
    currency: Currency,
) -> Why:
    """The steps for every component that was exposed or opened, then those of the whole; they land on the chance in percent.

    Args:
        names: name and unit of each component.
        exposures: as the quote had them.
        told: the update.
        steps: of `explain_update`.
        terms: what the job stood on.
        currency: whose decimals the amounts get.
    """
    told_steps: list[WhyStep] = []
    for (name, unit), part, closed, step in zip(names, exposures, told.closed, steps, strict=True):
        if part.exposure > 0 or closed.opened > 0 or closed.drawn + closed.ordered > 0:
            told_steps += _component(name, unit, part, closed, step, currency)
    told_steps += _whole(told, terms, currency)
    return Why("forecast", number(told.chance_over_limit * 100), tuple(told_steps))


def _component(name: str, unit: str, part: Exposure, closed: Closed, step: LookSteps, currency: Currency) -> Iterator[WhyStep]:
    yield WhyStep(f"{name}: exposed by this job, as quoted", number(part.exposure), unit, "why: allowance of the quote")
    yield WhyStep(
        f"{name}: chance of any rot before opening", number(step.chance_before * 100), "%", "the quote's sample points"
    )
    yield WhyStep(f"{name}: mean share rotten when it is, before opening", number(step.share_before * 100), "%", "")
    if closed.opened > 0:
        yield WhyStep(f"{name}: opened so far", number(closed.opened), unit, "opening entries")
        yield WhyStep(f"{name}: of it rotten", number(closed.found), unit, "opening entries")
        text = f"{name}: patches opened (n), at {number(step.patch)} {unit} each"
        yield WhyStep(text, number(step.patches), "patches", "cost base: patch of the component")
        yield WhyStep(f"{name}: of them rotten (k)", number(step.rotten), "patches", "")
    if closed.drawn > 0:
        yield WhyStep(f"{name}: drawn by found notes", number(closed.drawn), unit, "found notes")
    if closed.ordered > 0:
        yield WhyStep(f"{name}: repaired by change orders", number(closed.ordered), unit, "change orders in force")
    if closed.declined > 0:
        yield WhyStep(f"{name}: found and not to be repaired so", number(closed.declined), unit, "change orders in force")
    if step.conjugate is not None:
        a, b = (number(shape) for shape in step.conjugate)
        yield WhyStep(f"{name}: share rotten after opening follows Beta({a}, {b})", number(step.share_after * 100), "%", "")
    yield WhyStep(f"{name}: chance of any rot now", number(step.chance_after * 100), "%", "")
    yield WhyStep(f"{name}: mean share rotten when it is, now", number(step.share_after * 100), "%", "")
    yield WhyStep(f"{name}: still closed", number(closed.left), unit, "")
    yield WhyStep(f"{name}: found so far, at the agreed unit price", *_money(closed.found_amount, currency), "")
    yield WhyStep(f"{name}: expected in what is still closed", *_money(closed.expected_left, currency), "")


def _whole(told: Update, terms: Terms, currency: Currency) -> Iterator[WhyStep]:
    yield WhyStep("worked by", told.method, "", _HOW[told.method])
    yield WhyStep("sample points that the looks leave", number(told.effective), "points", "1 / sum of squared weights")
    yield WhyStep("hidden work found so far", *_money(told.found, currency), "")
    yield WhyStep("hidden work expected in what is still closed", *_money(told.left, currency), "")
    yield WhyStep("set aside for hidden work, orders beyond it included", *_money(float(terms.pot), currency), "the job")
    yield WhyStep("chance that hidden work passes it", number(told.chance_over_pot * 100), "%", "")
    yield WhyStep("final cost that 8 jobs in 10 like this stay within", *_money(told.p80, currency), "", purchase=True)
    yield WhyStep("authorised before tax", *_money(float(terms.limit), currency), "the job")
    over_cost = number(told.chance_cost_over_limit * 100)
    yield WhyStep("chance that the final cost passes it", over_cost, "%", "", purchase=terms.basis == "firm")
    by = "hidden work against what is set aside" if terms.basis == "firm" else "final cost against what is authorised"
    yield WhyStep(f"chance of passing the limit: {by}", number(told.chance_over_limit * 100), "%", "")


def _money(value: float, currency: Currency) -> tuple[str, str]:
    return str(amount(value, currency)), currency.code
