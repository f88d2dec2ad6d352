"""The measurements of `bench_trial`: a test, so that it gets the database that tests get.

Two hundred issued quotes on coaches of several lengths are tried with a dearer trade, which every one of them reads, and with a
dearer material that none does. *Bare*: `compute_quote` twice for each of them, on inputs and a cost base that are at hand.
Time of the processor, the fastest of a few rounds of each.
"""

import time
from collections.abc import Callable

import pytest

from costbase.actions.drafts import EditionDraft
from costbase.snapshot import cost_base
from quotes.actions.trial_rows import tried_json
from quotes.actions.trials import Chosen, Trial, try_editions
from quotes.calc.quote import compute_quote
from quotes.exchange.frozen import inputs_from_json
from quotes.models import Quote
from quotes.snapshot import cost_factors, points, severity_rules
from tests import make
from tests.rest.office import office
from tests.rest.quoting import Quoting, coach_34, contents_of

QUOTES = 200
ROUNDS = 5
DAY = make.NOW.date()


def best(work: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def issue_quotes(quoting: Quoting) -> None:
    """Twenty lengths of coach, each quoted ten times: as often as the same coach stands in a shop's last quotes or less."""
    for inches in range(20):
        roof = coach_34()
        roof["roof"]["sections"][0]["length"] = f"{408 + inches} in"
        coach = quoting.add_coach({**roof, "plate": f"INV {inches}"})
        survey = quoting.add_survey(coach)
        for _ in range(QUOTES // 20):
            quoting.issued(coach=coach, survey=survey)


def bare(quoting: Quoting) -> Callable[[], object]:
    rows = Quote.objects.for_shop(quoting.shop).filter(state="issued")
    inputs = [inputs_from_json(row.inputs) for row in rows]
    base = cost_base(quoting.shop, DAY, "full-rebuild")
    rules, factors, at = severity_rules(base.severity), cost_factors(), points()

    def twice() -> None:
        for wanted in inputs:
            for _ in range(2):
                compute_quote(wanted, base, rules, factors, at)

    return twice


@pytest.mark.django_db(transaction=True)
def test_ratios_of_a_trial(capsys: pytest.CaptureFixture[str]) -> None:
    quoting = Quoting(office())
    issue_quotes(quoting)
    dearer = {**contents_of("rate", "technician"), "billed_per_hour": "199.00"}
    unread = {**contents_of("price", "silicone-coating"), "pack_price": "199.00"}

    def tried(kind: str, slug: str, contents: object) -> Trial:
        drafts = [EditionDraft(kind, slug, "contents", contents)]  # type: ignore[arg-type]
        return try_editions(shop=quoting.shop, day=DAY, drafts=drafts, chosen=Chosen(QUOTES, ()), coaches=())

    with quoting.office.scope():
        alone = best(bare(quoting))
        read = best(lambda: tried("rate", "technician", dearer))
        told = best(lambda: [tried_json(one, 2) for one in tried("rate", "technician", dearer).quotes])
        none = best(lambda: tried("price", "silicone-coating", unread))
        assert len(tried("rate", "technician", dearer).quotes) == QUOTES
    with capsys.disabled():
        print()
        print(f"a trial of {QUOTES} quotes / each priced twice         {read / alone:5.2f}")
        print(f"with its answer / each priced twice            {told / alone:5.2f}")
        print(f"drafts that no quote reads / each priced twice {none / alone:5.2f}")
