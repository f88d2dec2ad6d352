"""How does a request for a quote become frozen inputs?

The coach and its survey are read in one query; what the request names besides is checked where it is used, by the core.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from costbase.calc.errors import CalculationError, raise_faults
from costbase.models import Shop
from quotes.actions.references import OtherShopError
from quotes.actions.surveys import CoachRetiredError
from quotes.calc.geometry import Roof, Scope
from quotes.calc.inputs import DaysOverride, Entered, QuoteInputs, TierOverride
from quotes.calc.labour import ChosenCondition
from quotes.calc.survey import Survey as ReadSurvey
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
    offered: tuple[str, ...]
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
    try:
        (survey,) = surveys_of(shop, [(coach_id, survey_id)])
    except CalculationError as fault:
        fault.field = fault.field.removeprefix("0/")
        raise
    return survey


def surveys_of(shop: Shop, wanted: Sequence[tuple[int, int]]) -> list[Survey]:
    """The surveys of several pairs of coach and survey with their coaches, in one query.

    Raises:
        CalculationError: as `survey_of`, with a field such as ``2/survey``; all of them at once.
    """
    rows = Survey.objects.for_shop(shop).select_related("coach").filter(pk__in={survey_id for _, survey_id in wanted})
    found = {survey.pk: survey for survey in rows} if wanted else {}
    misfits = [_misfit(found.get(survey_id), coach_id, survey_id) for coach_id, survey_id in wanted]
    raise_faults([fault.under(str(place)) for place, fault in enumerate(misfits) if fault is not None])
    return [found[survey_id] for _, survey_id in wanted]


def _misfit(survey: Survey | None, coach_id: int, survey_id: int) -> CalculationError | None:
    if survey is None:
        words = f"expected the id of a survey of this shop, not {survey_id}"
        return OtherShopError(words, field="survey", value=survey_id)
    if survey.coach_id != coach_id:
        words = f"survey {survey_id} is of coach {survey.coach_id}; expected one of coach {coach_id}"
        return SurveyMismatchError(words, field="survey", value=survey_id)
    if survey.coach.retired_on is not None:
        return CoachRetiredError(f"the coach was retired on {survey.coach.retired_on}", field="coach", value=coach_id)
    return None


def frozen_inputs(survey: Survey, wish: Wish) -> QuoteInputs:
    """The frozen inputs of a quote on a survey."""
    return inputs_on(roof_from(survey.coach.roof), survey_from(survey.method, survey.made_on, survey.document), wish)


def inputs_on(roof: Roof, survey: ReadSurvey, wish: Wish) -> QuoteInputs:
    """The frozen inputs of a quote on a roof and a survey, wherever they come from."""
    return QuoteInputs(
        roof=roof,
        survey=survey,
        scope=wish.scope,
        plan=wish.plan,
        skin=wish.skin,
        options=wish.options,
        offered=wish.offered,
        conditions=wish.conditions,
        entered=wish.entered,
        override=wish.override,
        days=wish.days,
    )
