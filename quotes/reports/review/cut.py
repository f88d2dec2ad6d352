"""Was it luck, or would a closer look have told? The quote is worked out again at each worse tier, all else as it was."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from costbase.models import Shop
from quotes.calc.inputs import TierOverride
from quotes.calc.quote import compute_quote
from quotes.calc.severity import TIERS
from quotes.calc.variance import CAUSES, Cut, Looked, TierRun, third_cut
from quotes.models import ClosedComponent, ClosedJob, Job, Quote
from quotes.reports.quotes import worked_again


def cut_of(shop: Shop, closed: ClosedJob, *, engine: int) -> tuple[Cut, ...]:
    """Luck, look, hours and price of a closed job.

    A quote that another engine priced is not worked out again, so nothing of it can be told to be look. Where nothing was
    measured, what was put right counts as found.

    Args:
        shop: whose it is.
        closed: with all its amounts.
        engine: the arithmetic of today.
    """
    quote = Quote.objects.for_shop(shop).get(pk=closed.quote_id)
    own = TierRun(quote.told["tier"], Decimal(closed.contingency))
    measured = ClosedComponent.objects.for_shop(shop).filter(closed_id=closed.pk, found__isnull=False).exists()
    runs = (own, *(_worse(shop, closed, quote) if quote.engine == engine else ()))
    return third_cut(
        found=Decimal(closed.hidden_measured if measured else closed.hidden_done),
        allowance=Decimal(closed.allowance),
        runs=runs,
        looked=Looked(
            by_rules=quote.told["tier_by_rules"],
            held=quote.told["tier"],
            reason=quote.told["override_reason"],
            checked_percent=int(quote.checked_share * 100),
        ),
        costs={slug: getattr(closed, f"cost_{slug}") for slug in CAUSES},
    )


def _worse(shop: Shop, closed: ClosedJob, quote: Quote) -> Iterator[TierRun]:
    """The quote at each worse tier, options as they were ticked; the frozen cost base, rules and record as they were."""
    known = worked_again(quote)
    options = Job.objects.for_shop(shop).values_list("options", flat=True).get(pk=closed.job_id)
    for tier in TIERS[TIERS.index(quote.told["tier"]) + 1 :]:
        inputs = replace(
            known.inputs,
            options=(*known.inputs.options, *options),
            override=TierOverride(tier, "as the roof was when it was open"),
        )
        worked = compute_quote(inputs, known.cost_base, known.rules, known.factors, known.points)
        yield TierRun(tier, worked.totals.contingency)
