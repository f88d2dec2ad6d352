"""How does a request for a fleet become the frozen inputs of its coaches?

All surveys with their coaches are read in one query; what the request names besides is checked where it is used, by the core.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from costbase.calc.errors import CalculationError, raise_faults
from costbase.models import Shop
from quotes.actions.quote_inputs import SurveyMismatchError, Wish, frozen_inputs
from quotes.actions.references import OtherShopError
from quotes.actions.surveys import CoachRetiredError
from quotes.calc.inputs import Entered, QuoteInputs
from quotes.models import Customer, Survey


class CoachTwiceError(CalculationError):
    """A coach that stands in a fleet twice."""

    code = "coach_twice"


class OtherCustomerError(CalculationError):
    """A coach of another customer than the fleet is of."""

    code = "coach_of_another_customer"


@dataclass(frozen=True, slots=True)
class CoachWish:
    """What is asked for one coach of a fleet: its survey, what the estimator says of this coach, and its part of the request.

    `entered` holds against what is said of all coaches: a measure that is entered here is not taken from there.
    """

    coach_id: int
    survey_id: int
    entered: tuple[Entered, ...]
    request: dict[str, Any]


@dataclass(frozen=True, slots=True)
class FleetDraft:
    """What a client asks for: whose fleet it is, what it is called, and the request as it was sent."""

    label: str
    customer_id: int
    coaches: tuple[CoachWish, ...]
    request: dict[str, Any]


def fleet_inputs(shop: Shop, draft: FleetDraft, wish: Wish) -> list[QuoteInputs]:
    """The frozen inputs of every coach, in their order.

    Args:
        shop: whose coaches they are.
        draft: names coaches and surveys.
        wish: what is asked for all of them; the scope is the usual one of the plan on each.

    Raises:
        OtherShopError, SurveyMismatchError, CoachRetiredError, CoachTwiceError, OtherCustomerError: coaches, surveys or a
        customer
            that do not belong together, below ``coaches/<index>`` and ``customer``; CalculationFaults with all of them.
    """
    surveys = _surveys(shop, draft)
    return [
        frozen_inputs(surveys[coach.survey_id], replace(wish, entered=entered_for(wish.entered, coach.entered)))
        for coach in draft.coaches
    ]


def entered_for(common: Sequence[Entered], own: Sequence[Entered]) -> tuple[Entered, ...]:
    """What is said of all coaches, but for the measures that are said of this one, and then those."""
    again = {entry.slug for entry in own}
    return (*(entry for entry in common if entry.slug not in again), *own)


def _surveys(shop: Shop, draft: FleetDraft) -> dict[int, Survey]:
    faults: list[CalculationError] = []
    customers = Customer.objects.for_shop(shop).filter(erased_at=None)
    if not customers.filter(pk=draft.customer_id).exists():
        words = f"expected the id of a customer of this shop, not {draft.customer_id}"
        faults.append(OtherShopError(words, field="customer", value=draft.customer_id))
    wanted = [coach.survey_id for coach in draft.coaches]
    surveys = Survey.objects.for_shop(shop).select_related("coach").in_bulk(wanted)
    for place, coach in enumerate(draft.coaches):
        earlier = {other.coach_id for other in draft.coaches[:place]}
        for fault in _coach_faults(coach, surveys.get(coach.survey_id), earlier, draft.customer_id):
            faults.append(fault.under(f"coaches/{place}"))
    raise_faults(faults)
    return surveys


def _coach_faults(coach: CoachWish, survey: Survey | None, earlier: set[int], customer_id: int) -> Iterator[CalculationError]:
    if coach.coach_id in earlier:
        yield CoachTwiceError(f"coach {coach.coach_id} is in the fleet already", field="coach", value=coach.coach_id)
    if survey is None:
        words = f"expected the id of a survey of this shop, not {coach.survey_id}"
        yield OtherShopError(words, field="survey", value=coach.survey_id)
        return
    if survey.coach_id != coach.coach_id:
        words = f"survey {survey.pk} is of coach {survey.coach_id}; expected one of coach {coach.coach_id}"
        yield SurveyMismatchError(words, field="survey", value=survey.pk)
        return
    if survey.coach.retired_on is not None:
        yield CoachRetiredError(f"the coach was retired on {survey.coach.retired_on}", field="coach", value=coach.coach_id)
    # A coach that is nobody's yet may come with anybody's.
    if survey.coach.customer_id not in (None, customer_id):
        words = f"coach {coach.coach_id} is of customer {survey.coach.customer_id}; a fleet is of one customer, {customer_id}"
        yield OtherCustomerError(words, field="coach", value=coach.coach_id)
