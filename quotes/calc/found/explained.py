"""Why does a found note draw what it draws?"""

from decimal import Decimal

from costbase.calc.money import Currency
from quotes.calc.found.pot import AgreedComponent, Draw, share_of_parts, work_of
from quotes.calc.why import Why, WhyStep

_SHARE_PLACES = 6


def why_draw(component: AgreedComponent, made: Draw, currency: Currency) -> Why:
    """The steps to what a note draws, or gives back; they land on its amount.

    Args:
        component: as agreed.
        made: the note's draw.
        currency: of the job.
    """
    back = made.extent < 0
    worked = work_of(component, abs(made.extent), with_set_up=made.set_up != 0, currency=currency)
    worked = worked.back() if back else worked
    unit, money = component.unit, currency.code
    steps = [
        WhyStep(f"extent of {component.slug} {'taken back' if back else 'found'}", f"{made.extent:f}", unit, "opening"),
        WhyStep("agreed price of one", f"{component.unit_price:f}", f"{money}/{unit}", "the accepted quote"),
        WhyStep("work: extent x price, rounded", f"{worked.work:f}", money, ""),
        WhyStep(_set_up_words(made), f"{worked.set_up:f}", money, "the accepted quote" if made.set_up else ""),
        WhyStep(
            "share of parts in the price of one", f"{share_of_parts(component):.{_SHARE_PLACES}f}", "", "the accepted quote"
        ),
        WhyStep("of the work, parts for tax: rounded down", f"{worked.material:f}", money, ""),
        WhyStep("together", f"{worked.amount:f}", money, ""),
    ]
    return Why(f"found note of {component.slug}", worked.amount, tuple(steps))


def _set_up_words(made: Draw) -> str:
    if made.set_up == Decimal(0):
        return "set-up: charged with an earlier note, or none was agreed"
    return "set-up, given back with the note that it came with" if made.set_up < 0 else "set-up, once, with the first note"
