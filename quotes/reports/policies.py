"""What may a bill pass an authorised total by without a new consent, under what the shop had adopted on a day?

Nothing, unless the shop adopted a template. What was adopted holds from its day on until the next one; it is kept as it was, so
that a newer version of a template changes nothing that was adopted before.
"""

from datetime import date
from decimal import Decimal

from django.db.models import QuerySet

from costbase.calc.money import currency as currency_of
from costbase.models import Shop
from quotes.calc.consent import OverrunTemplate, highest_without_consent, template_from
from quotes.calc.consent.policy import TEMPLATE_CURRENCY
from quotes.models import OverrunPolicy

NOTHING = "none"
"""Stands in place of a template's slug where a shop goes back to no overrun."""


def policies(shop: Shop) -> QuerySet[OverrunPolicy]:
    """Everything that the shop has adopted, to be put in order."""
    return OverrunPolicy.objects.for_shop(shop)


def policy_on(shop: Shop, day: date) -> OverrunPolicy | None:
    """What was in force on a day: of the latest first day what was entered last; None where nothing was adopted by then."""
    return policies(shop).filter(valid_from__lte=day).order_by("-valid_from", "-id").first()


def template_of(policy: OverrunPolicy | None) -> OverrunTemplate | None:
    """The template as it was adopted; None for none.

    Raises:
        TemplateError: what was kept is damaged.
    """
    if policy is None or policy.template == NOTHING:
        return None
    return template_from(policy.template, policy.adopted)


def overrun_allowed(
    shop: Shop, day: date, authorised: Decimal, authorised_with_tax: Decimal, coach_year: int | None = None
) -> Decimal:
    """What a bill with tax may pass `authorised_with_tax` by without a new consent; 0 where no template was adopted.

    Where the template leaves sales tax out of its base, its percentage is of the total ex tax, and what it comes to is allowed
    with the tax inside: never more than the text allows, whatever is taxed.

    Args:
        shop: whose policy counts.
        day: of the consent, in the shop's zone: what is in force then holds for what it authorises.
        authorised: what is authorised in all, ex tax.
        authorised_with_tax: the same with the most tax that can fall on it, as the owner signed it.
        coach_year: the coach's model year, None where nobody knows; its age is counted in calendar years of `day`.

    Raises:
        TemplateError: what was adopted is damaged.
    """
    template = template_of(policy_on(shop, day))
    # A shop's currency can change until its first quote; figures in dollars say nothing in another one.
    if template is None or shop.currency != TEMPLATE_CURRENCY:
        return Decimal(0)
    base = authorised if template.tax_base == "without_tax" else authorised_with_tax
    age = None if coach_year is None else max(day.year - coach_year, 0)
    return highest_without_consent(template, base, currency_of(shop.currency), age) - base
