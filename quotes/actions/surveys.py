"""How are surveys made, corrected and taken away?"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from costbase.calc.cost_base import SeverityContents
from costbase.calc.errors import CalculationError, CalculationFaults, raise_faults
from costbase.calc.units import WrongDimensionError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from costbase.snapshot import SEVERITY, NotInForceError, in_force
from quotes.actions.priced import shop_day
from quotes.actions.references import OtherShopError, must_be_new
from quotes.calc.survey import SeverityRules, check_survey
from quotes.exchange.coaches import roof_from
from quotes.exchange.documents import Document
from quotes.exchange.surveys import survey_from
from quotes.models import Coach, Survey
from quotes.snapshot import severity_rules

_DETAILS = ("method", "made_on", "document")


class SurveyLockedError(CalculationError):
    """A change of a survey that an issued quote stands on."""

    code = "survey_locked"


class CoachRetiredError(CalculationError):
    """A survey of a coach that is out of use."""

    code = "retired"


@dataclass(frozen=True, slots=True)
class SurveyDetails:
    """What was found; `document` has the lists of marks, findings, repairs and readings."""

    method: str
    made_on: date
    document: Document


def details_of(survey: Survey) -> SurveyDetails:
    """The details as they stand."""
    return SurveyDetails(method=survey.method, made_on=survey.made_on, document=survey.document)


def add_survey(*, by: Actor, shop: Shop, coach_id: int, details: SurveyDetails, client_id: UUID | None = None) -> Survey:
    """Adds a survey of a coach, whose row is held so that its roof stays under the marks.

    Raises:
        OtherShopError: the shop has no such coach.
        CoachRetiredError: nothing new refers to a retired coach.
        AlreadyThereError: a survey with this client's id is there.
        CalculationFaults: everything that does not lie on the roof.
    """
    assert_scope(shop.pk)
    coach = Coach.objects.for_shop(shop).select_for_update().filter(pk=coach_id).first()
    if coach is None:
        words = f"expected the id of a coach of this shop, not {coach_id}"
        raise OtherShopError(words, field="coach", value=coach_id)
    if coach.retired_on is not None:
        raise CoachRetiredError(f"the coach was retired on {coach.retired_on}", field="coach", value=coach_id)
    must_be_new(Survey.objects.for_shop(shop), client_id)
    survey = Survey(shop=shop, coach=coach, client_id=client_id)
    _write(survey, coach, details)
    survey.save(force_insert=True)
    return survey


def change_survey(*, by: Actor, survey: Survey, details: SurveyDetails) -> Survey:
    """Changes a survey whose row, and whose coach's row, the caller has locked.

    Raises:
        SurveyLockedError: a quote was issued on it.
        CalculationFaults: everything that does not lie on the roof.
    """
    _must_be_open(survey)
    _write(survey, survey.coach, details)
    survey.version += 1
    survey.save(update_fields=[*_DETAILS, "version", "changed"])
    return survey


def remove_survey(*, by: Actor, survey: Survey) -> None:
    """Takes a survey away that no quote refers to.

    Raises:
        SurveyLockedError: a quote was issued on it.
        ProtectedError: a draft refers to it.
    """
    _must_be_open(survey)
    survey.delete()


def check_fits(shop: Shop, details: SurveyDetails, roof: Document) -> None:
    """Raises nothing for a survey that lies on the roof and that the rules in force today can read.

    Raises:
        CalculationFaults: everything that does not.
        NotInForceError: neither the shop nor its network has severity rules.
    """
    rules = _rules_in_force(shop)
    wrong = [*_extent_faults(details.document, rules)]
    found: tuple[CalculationError, ...] = ()
    try:
        check_survey(survey_from(details.method, details.made_on, details.document), roof_from(roof), rules)
    except CalculationFaults as several:
        found = several.faults
    except CalculationError as fault:
        found = (fault,)
    # The size of an area is no size of a length, so nothing more is worth saying about it.
    told = {fault.field for fault in wrong}
    raise_faults([*wrong, *(fault for fault in found if fault.field not in told)])


def _extent_faults(document: Document, rules: SeverityRules) -> Iterator[CalculationError]:
    """The faults of extents that measure something else than their kind of finding wants.

    Once canonical, a length is as good a number as an area, so this is the last place where they can be told apart.
    """
    for index, finding in enumerate(document["findings"]):
        kind = rules.evidence.get(finding["kind"])
        extent = finding["extent"]
        if kind is None or extent is None or kind.extent == "none":
            continue
        wanted = "plain number" if kind.extent == "count" else kind.extent
        if extent["dimension"] != wanted:
            yield WrongDimensionError(
                f"expected a {kind.extent} for {kind.words()}, not {extent['entered']!r}",
                field=f"findings/{index}/extent",
                value=extent["entered"],
            )


def _rules_in_force(shop: Shop) -> SeverityRules:
    day = shop_day(shop)
    contents = in_force(shop, day).get("severity", {}).get(SEVERITY)
    if not isinstance(contents, SeverityContents):
        raise NotInForceError(f"no severity rules are in force on {day}, so no survey can be read", value=SEVERITY)
    return severity_rules(contents)


def _must_be_open(survey: Survey) -> None:
    assert_scope(survey.shop_id)
    if survey.locked_on is not None:
        raise SurveyLockedError(
            f"a quote was issued on this survey on {survey.locked_on}; expected a survey without one: make a new one",
            value=survey.pk,
        )


def _write(survey: Survey, coach: Coach, details: SurveyDetails) -> None:
    check_fits(coach.shop, details, coach.roof)
    survey.method = details.method
    survey.made_on = details.made_on
    survey.document = details.document
