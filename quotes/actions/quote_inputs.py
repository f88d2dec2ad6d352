"""How does a request for a quote become frozen inputs?

The coach and its survey are read in one query; what the request names besides is checked where it is used, by the core.
"""

from dataclasses import dataclass

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from quotes.actions.references import OtherShopError
from quotes.actions.surveys import CoachRetiredError
from quotes.calc.geometry import Scope
from quotes.calc.inputs import DaysOverride, Entered, QuoteInputs, TierOverride
from quotes.calc.labour import ChosenCondition
from quotes.exchange.coaches import roof_from
from quotes.exchange.surveys import survey_from
from quotes.models import Survey


class SurveyMismatchError(CalculationError):
    """A survey of another coach."""

    code = "survey_of_another_coach"


@dataclass(frozen=True, slots=True)
class Wish:
    """What the estimator asks for, beside coach and survey; see `QuoteInputs`."""

    plan: str
    skin: str
    scope: Scope
    options: tuple[str, ...]
    conditions: tuple[ChosenCondition, ...]
    entered: tuple[Entered, ...]
    override: TierOverride | None
    days: DaysOverride | None


def survey_of(shop: Shop, coach_id: int, survey_id: int) -> Survey:
    """The survey with its coach, in one query.

    Raises:
        OtherShopError: the shop has no such survey.
        SurveyMismatchError: it is of another coach.
        CoachRetiredError: nothing new refers to a retired coach.
    """
    survey = Survey.objects.for_shop(shop).select_related("coach").filter(pk=survey_id).first()
    if survey is None:
        words = f"expected the id of a survey of this shop, not {survey_id}"
        raise OtherShopError(words, field="survey", value=survey_id)
    if survey.coach_id != coach_id:
        words = f"survey {survey_id} is of coach {survey.coach_id}; expected one of coach {coach_id}"
        raise SurveyMismatchError(words, field="survey", value=survey_id)
    if survey.coach.retired_on is not None:
        raise CoachRetiredError(f"the coach was retired on {survey.coach.retired_on}", field="coach", value=coach_id)
    return survey


def frozen_inputs(survey: Survey, wish: Wish) -> QuoteInputs:
    """The frozen inputs of a quote on a survey."""
    return QuoteInputs(
        roof=roof_from(survey.coach.roof),
        survey=survey_from(survey.method, survey.made_on, survey.document),
        scope=wish.scope,
        plan=wish.plan,
        skin=wish.skin,
        options=wish.options,
        conditions=wish.conditions,
        entered=wish.entered,
        override=wish.override,
        days=wish.days,
    )
