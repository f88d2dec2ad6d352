"""How are coaches added, changed, retired and taken away?"""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from costbase.calc.errors import CalculationError, CalculationFaults, raise_faults
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions import surveys
from quotes.actions.references import OtherShopError, must_be_new
from quotes.actions.surveys import check_fits
from quotes.calc.geometry import check_roof
from quotes.exchange.coaches import roof_from
from quotes.exchange.documents import Document
from quotes.models import Coach, Customer, Survey

_DETAILS = ("customer", "label", "plate", "serial_number", "year", "gross_weight", "roof")


class SurveyNoLongerFitsError(CalculationError):
    """A change of the roof that takes the ground away from marks of a survey."""

    code = "survey_no_longer_fits"


@dataclass(frozen=True, slots=True)
class CoachDetails:
    """What is known about a coach; `roof` and `gross_weight` are documents as `documents.stored` makes them."""

    customer_id: int | None
    label: str
    plate: str
    serial_number: str
    year: int | None
    gross_weight: Document | None
    roof: Document


def details_of(coach: Coach) -> CoachDetails:
    """The details as they stand."""
    return CoachDetails(
        customer_id=coach.customer_id,
        label=coach.label,
        plate=coach.plate,
        serial_number=coach.serial_number,
        year=coach.year,
        gross_weight=coach.gross_weight,
        roof=coach.roof,
    )


def add_coach(*, by: Actor, shop: Shop, details: CoachDetails, client_id: UUID | None = None) -> Coach:
    """Adds a coach whose roof can exist.

    Raises:
        AlreadyThereError: a coach with this client's id is there.
        CalculationFaults: everything that is wrong with it, below ``roof`` and ``customer``.
    """
    assert_scope(shop.pk)
    must_be_new(Coach.objects.for_shop(shop), client_id)
    coach = Coach(shop=shop, client_id=client_id)
    _check(coach, details)
    _write(coach, details)
    coach.save(force_insert=True)
    return coach


def change_coach(*, by: Actor, coach: Coach, details: CoachDetails) -> Coach:
    """Changes a coach whose row the caller has locked.

    Quotes keep the roof they were worked out on. Surveys that no quote was issued on do not, so each of them
    must still fit a changed roof.

    Raises:
        CalculationFaults: everything that is wrong with it, below ``roof`` and ``customer``.
        SurveyNoLongerFitsError: a survey has marks where the new roof has none.
    """
    assert_scope(coach.shop_id)
    _check(coach, details)
    if details.roof != coach.roof:
        _check_surveys(coach, details.roof)
    _write(coach, details)
    coach.version += 1
    coach.save(update_fields=[*_DETAILS, "version", "changed"])
    return coach


def retire_coach(*, by: Actor, coach: Coach, on: date | None) -> Coach:
    """Retires a coach from a day on, or takes it back with None; its quotes and surveys stay as they are."""
    assert_scope(coach.shop_id)
    coach.retired_on = on
    coach.version += 1
    coach.save(update_fields=["retired_on", "version", "changed"])
    return coach


def remove_coach(*, by: Actor, coach: Coach) -> None:
    """Takes a coach away that nothing refers to.

    Raises:
        ProtectedError: it has a survey or a quote; retire it instead.
    """
    assert_scope(coach.shop_id)
    coach.delete()


def _check(coach: Coach, details: CoachDetails) -> None:
    faults: list[CalculationError] = []
    known = Customer.objects.for_shop(coach.shop_id).filter(erased_at=None)
    # A customer that was erased after the coach got it may stay.
    same = details.customer_id == coach.customer_id
    if details.customer_id is not None and not same and not known.filter(pk=details.customer_id).exists():
        words = f"expected the id of a customer of this shop, not {details.customer_id}"
        faults.append(OtherShopError(words, field="customer", value=details.customer_id))
    try:
        check_roof(roof_from(details.roof))
    except CalculationFaults as several:
        faults += [fault.under("roof") for fault in several.faults]
    except CalculationError as fault:
        faults.append(fault.under("roof"))
    raise_faults(faults)


def _check_surveys(coach: Coach, roof: Document) -> None:
    for survey in Survey.objects.for_shop(coach.shop_id).filter(coach=coach, locked_on=None).order_by("pk"):
        try:
            check_fits(coach.shop, surveys.details_of(survey), roof)
        except CalculationError as fault:
            raise SurveyNoLongerFitsError(
                f"survey {survey.pk} would no longer fit: {fault.message}; change or remove it first", field="roof"
            ) from fault


def _write(coach: Coach, details: CoachDetails) -> None:
    coach.customer_id = details.customer_id
    coach.label = details.label
    coach.plate = details.plate
    coach.serial_number = details.serial_number
    coach.year = details.year
    coach.gross_weight = details.gross_weight
    coach.roof = details.roof
