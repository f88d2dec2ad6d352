"""A job of each severity tier, from the quote to the bill: what was found draws the pot at the quoted unit price, no more."""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from tests.rest.quoting import Body, Quoting
from tests.scenarios.story import Story

pytestmark = pytest.mark.django_db

CENT = Decimal("0.01")
TIERS = ("skin-deep", "local", "widespread", "frame")


def framed(quoting: Quoting, tier: str) -> Story:
    """The framed coach under a new skin, called a tier by its estimator."""
    asked = quoting.framed_body(measures=[], tier={"tier": tier, "reason": "seen on the ladder"})
    draft = quoting.posted(asked).json()
    issued = quoting.issue(draft["id"])
    assert issued.status_code == 200, issued.content.decode()
    return Story(quoting, issued.json())


def component(quote: Body, slug: str) -> Body:
    (found,) = [each for each in quote["hidden"] if each["slug"] == slug]
    return dict(found)


def cents(exact: Decimal) -> Decimal:
    return exact.quantize(CENT, ROUND_HALF_UP)


@pytest.mark.parametrize("tier", TIERS)
def test_four_feet_of_wet_edge_are_billed_at_the_agreed_price(quoting: Quoting, tier: str) -> None:
    job = framed(quoting, tier)
    assert job.quote["tier"]["tier"] == tier
    edge = component(job.quote, "edge")
    job.accept()
    job.move("opening_up")
    # A strip is 24 in: two of them, wet through.
    strips = [{"section": "main", "side": "driver", "index": number} for number in (1, 2)]
    job.open(strips=strips, found=[{"component": "edge", "condition": "rotten"}])

    # 4 ft at the unit price, and the set-up with the first note.
    draw = cents(4 * Decimal(edge["unit_price"])) + Decimal(edge["set_up"])
    fits = draw <= Decimal(job.quote["amounts"]["contingency"])
    note = job.note("edge", "4 ft", status=201 if fits else 409)
    if not fits:
        assert (note["code"], note["wanted"]) == ("pot_passed", str(draw))
    job.move("rebuilding")
    job.finish()
    job.count_as_quoted()
    bill = job.bill()

    # The shipped rule has no tax and no step: what is billed is the visible work and the draw, to the cent.
    assert Decimal(bill["total"]) == Decimal(job.quote["base_with_tax"]) + (draw if fits else 0)
    assert Decimal(bill["total"]) <= Decimal(job.quote["limit_with_tax"])
    job.pay(bill["total"])
    job.settle()
    review = job.get(f"jobs/{job.job}/review", role="analyst")
    assert review["bill"]["end"] == bill["total"]
    causes = sum((Decimal(cause["amount"]) for cause in review["bill"]["causes"]), Decimal(0))
    assert Decimal(review["bill"]["start"]) + causes == Decimal(bill["total"])


def test_a_worse_tier_sets_more_aside_for_the_same_roof(quoting: Quoting) -> None:
    aside = [Decimal(framed(quoting, tier).quote["amounts"]["allowance"]) for tier in TIERS]
    assert aside == sorted(aside)
    assert len(set(aside)) == len(aside)
