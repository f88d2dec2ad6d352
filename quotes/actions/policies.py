"""How does a shop adopt what may be billed beyond an authorised total without a new consent?"""

from datetime import date, datetime

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.priced import shop_day
from quotes.calc.consent import TemplateCurrencyError, as_row
from quotes.calc.consent.policy import TEMPLATE_CURRENCY
from quotes.models import OverrunPolicy
from quotes.reports.policies import NOTHING
from quotes.snapshot import overrun_templates


class UnknownTemplateError(CalculationError):
    """No template of that slug ships with the service."""

    code = "unknown_overrun_template"


class BackDatedError(CalculationError):
    """A policy that would hold for consents given before it was adopted."""

    code = "policy_back_dated"


def adopt_policy(*, shop: Shop, template: str, valid_from: date, note: str, by: Actor, now: datetime) -> OverrunPolicy:
    """Adopts a template, or none, from a day on. Nothing that was adopted before is changed.

    Args:
        shop: that adopts it.
        template: slug of a template that ships with the service, or "none".
        valid_from: today in the shop's zone, or later: what an owner consented to is not widened afterwards.
        note: why, in the shop's words.
        by: who adopts it.
        now: when.

    Raises:
        UnknownTemplateError: no such template.
        BackDatedError: a day before today.
        TemplateCurrencyError: the shop's currency is not the template's.
    """
    assert_scope(shop.pk)
    templates = overrun_templates()
    if template != NOTHING and template not in templates:
        words = f"no template {template!r} ships with the service; expected one of GET overrun-templates, or {NOTHING}"
        raise UnknownTemplateError(words, field="template", value=template)
    today = shop_day(shop, now)
    if valid_from < today:
        words = f"a policy holds from today ({today}) on at the earliest, not from {valid_from}"
        raise BackDatedError(words, field="valid_from", value=valid_from)
    chosen = templates.get(template)
    if chosen is not None and shop.currency != TEMPLATE_CURRENCY:
        words = f"the template's amounts are in {TEMPLATE_CURRENCY}, the shop's in {shop.currency}; expected {NOTHING}"
        raise TemplateCurrencyError(words, field="template", value=template)
    policy = OverrunPolicy(
        shop=shop,
        template=template,
        version=chosen.version if chosen else "",
        valid_from=valid_from,
        adopted=as_row(chosen) if chosen else {},
        note=note,
        adopted_by=by.person_id,
        created=now,
    )
    policy.save(force_insert=True)
    return policy
