"""In which form are templates of overrun and what a shop adopted of them answered and asked for?"""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from api.rest.fields import DayField, StrictSerializer, TextField
from quotes.calc.consent import DISCLAIMER, LABELS, OverrunTemplate
from quotes.calc.consent.policy import COMBINES, EQUALITIES, TAX_BASES, TEMPLATE_CURRENCY
from quotes.models import OverrunPolicy
from quotes.reports.policies import NOTHING, template_of

Row = dict[str, Any]
LONGEST_POLICY_NOTE = 400


class PolicyInput(StrictSerializer):
    template = TextField(max_length=63, help_text=f'Slug of a template, or "{NOTHING}": no overrun without a recorded consent.')
    valid_from = DayField(help_text="First day on which it holds: today in the shop's zone, or later.")
    note = TextField(max_length=LONGEST_POLICY_NOTE, help_text="Why, in the shop's words.")


class BandShape(serializers.Serializer[Any]):
    percent = serializers.CharField()
    below = serializers.CharField(allow_null=True, help_text="For authorised totals below this amount.")
    age_from = serializers.IntegerField(allow_null=True, help_text="For vehicles of this age in model years, or older.")


class TemplateShape(serializers.Serializer[Any]):
    """A dated, read-only template. It never says that a statute applies."""

    slug = serializers.CharField()
    place = serializers.CharField()
    version = serializers.CharField(help_text="Of the template; raised whenever it changes.")
    citation = serializers.CharField()
    text_of = serializers.CharField(help_text="Of what time the text is that was read.")
    read = serializers.ChoiceField(choices=tuple(LABELS))
    label = serializers.CharField(help_text="How it came to be known.")  # type: ignore[assignment]
    not_verified = serializers.ListField(child=serializers.CharField(), help_text="What nobody should rely on.")
    scope = serializers.CharField(help_text="Whom the rule reaches and whom it leaves out, as far as it was read.")
    notes = serializers.CharField()
    currency = serializers.CharField(help_text="Of the template's amounts.")
    estimate_above = serializers.CharField(allow_null=True, help_text="Amount above which a written estimate is asked for.")
    estimate_when = serializers.CharField()
    combine = serializers.ChoiceField(choices=COMBINES, help_text="Which of percentage and amount counts.")
    percent = serializers.CharField(allow_null=True, help_text="As a share: 0.10 is ten percent.")
    absolute = serializers.CharField(allow_null=True)
    cap = serializers.CharField(allow_null=True, help_text="Never more than this beyond what was authorised.")
    applies_above = serializers.CharField(allow_null=True, help_text="At or below this total the rule sets nothing.")
    applies_below = serializers.CharField(allow_null=True, help_text="At or above this total the rule sets nothing.")
    bands = BandShape(many=True)
    tax_base = serializers.ChoiceField(choices=TAX_BASES)
    equality = serializers.ChoiceField(choices=EQUALITIES, help_text="Whether a total exactly at the figure needs a consent.")
    over_limit = serializers.CharField(help_text='"nothing": over a written price limit, which is what consents here are to.')
    consent = serializers.ListField(child=serializers.CharField(), help_text="Forms of consent that were read of.")
    record = serializers.ListField(child=serializers.CharField(), help_text="What is written down of a consent by word.")
    teardown = serializers.CharField()
    parts_return = serializers.CharField()
    retention_months = serializers.IntegerField(allow_null=True)
    not_legal_advice = serializers.CharField()


class PolicyShape(serializers.Serializer[Any]):
    """What a shop adopted, with the template as it was then."""

    id = serializers.IntegerField()
    template = serializers.CharField(help_text=f'Slug of a template, or "{NOTHING}".')
    version = serializers.CharField()
    valid_from = serializers.DateField()
    note = serializers.CharField()
    adopted_by = serializers.IntegerField(allow_null=True, help_text="Id of the person.")
    created = serializers.DateTimeField()
    adopted = TemplateShape(allow_null=True)
    not_legal_advice = serializers.CharField()


class PolicyOnShape(serializers.Serializer[Any]):
    on = serializers.DateField()
    in_force = PolicyShape(allow_null=True, help_text="null: nothing was adopted by then, so there is no overrun.")
    not_legal_advice = serializers.CharField()


def template_answer(template: OverrunTemplate) -> Row:
    """A template with how it came to be known, what is not verified, and that it is no legal advice."""
    plain = (
        "slug",
        "place",
        "version",
        "citation",
        "text_of",
        "read",
        "scope",
        "notes",
        "estimate_when",
        "combine",
        "tax_base",
    )
    numbers = ("estimate_above", "percent", "absolute", "cap", "applies_above", "applies_below")
    more = ("equality", "over_limit", "teardown", "parts_return", "retention_months")
    return {
        **{name: getattr(template, name) for name in (*plain, *more)},
        **{name: _number(getattr(template, name)) for name in numbers},
        **{name: list(getattr(template, name)) for name in ("not_verified", "consent", "record")},
        "label": LABELS[template.read],
        "currency": TEMPLATE_CURRENCY,
        "bands": [
            {"percent": _number(band.percent), "below": _number(band.below), "age_from": band.age_from}
            for band in template.bands
        ],
        "not_legal_advice": DISCLAIMER,
    }


def policy_answer(policy: OverrunPolicy) -> Row:
    """What was adopted, with everything that was shown of the template."""
    template = template_of(policy)
    plain = ("id", "template", "version", "valid_from", "note", "adopted_by", "created")
    return {
        **{name: getattr(policy, name) for name in plain},
        "adopted": None if template is None else template_answer(template),
        "not_legal_advice": DISCLAIMER,
    }


def _number(value: Decimal | None) -> str | None:
    return None if value is None else f"{value:f}"
