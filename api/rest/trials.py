"""What would drafts of editions do to coaches and to quotes that were issued?"""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.fields import DayField, FlagField, OneOfField, StrictSerializer, TextField, WholeField, refuse, shown
from api.rest.marks import marks_kept
from api.rest.openapi import operation
from api.rest.quote_requests import QuoteInput, wish_of
from api.rest.roofs import Roof
from api.rest.surveys import SurveyChange
from api.rest.trial_answers import trial_answer
from api.rest.trial_shapes import TrialShape
from costbase.actions.drafts import EditionDraft
from costbase.calc.contents_table import KINDS
from costbase.calc.errors import CalculationError
from costbase.calc.fields import LONGEST_SLUG
from costbase.models import Shop
from costbase.snapshot import SEVERITY
from quotes.actions.priced import shop_day
from quotes.actions.quote_inputs import frozen_inputs, inputs_on, surveys_of
from quotes.actions.trials import Chosen, try_editions
from quotes.calc.inputs import QuoteInputs
from quotes.exchange.coaches import roof_from
from quotes.exchange.documents import stored
from quotes.exchange.surveys import survey_from

MOST_QUOTES = 50
MOST_COACHES = 10
MOST_DRAFTS = 500
_LARGEST_ID = 2**63 - 1
DRAFT_REFUSALS = (
    "bad_draft", "no_override", "edition_used", "several_faults", "bad_contents", "bad_template", "unknown_reference",
    "formula_error", "not_foam_safe", "counted_twice", "predecessors_in_a_circle", "edition_unreadable",
)  # fmt: skip
_WAYS = ("contents", "follow_network", "withdrawn")


@extend_schema_field({"type": "object", "additionalProperties": True})
class ContentsField(serializers.Field[Any, object, Any, Any]):
    """The contents of an edition, which its kind decides; checked by the core, field by field."""

    def to_internal_value(self, data: object) -> Mapping[str, object]:
        if not isinstance(data, Mapping):
            raise refuse("not_object", f"Expected the contents of an edition as an object, not {shown(data)}.")
        return data


class DraftInput(StrictSerializer):
    """Exactly one of contents, follow_network and withdrawn."""

    kind = OneOfField((*KINDS, SEVERITY))
    slug = TextField(max_length=LONGEST_SLUG)
    contents = ContentsField(required=False, help_text="What the edition would say.")
    follow_network = FlagField(required=False, default=False, help_text="The network's edition holds again.")
    withdrawn = FlagField(required=False, default=False, help_text="The shop's edition in force goes.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        said = [way for way in _WAYS if attrs.get(way, False) is not False]
        if len(said) != 1:
            words = f"Expected one of {', '.join(_WAYS)}, not {' and '.join(said) or 'none'}."
            raise ValidationError([ErrorDetail(words, "bad_draft")])
        return {**attrs, "way": said[0]}


class ChosenInput(StrictSerializer):
    last_issued = WholeField(
        min_value=1,
        max_value=MOST_QUOTES,
        required=False,
        default=0,
        help_text="So many; superseded revisions left aside.",
        error_messages={"max_value": "Expected at most {max_value}; editions/trials tries up to 500 in the background."},
    )
    ids = serializers.ListField(
        child=WholeField(min_value=1, max_value=_LARGEST_ID), max_length=MOST_QUOTES, required=False, default=[]
    )


class SampleInput(QuoteInput):
    """A coach and a survey that are kept nowhere, said in the request itself."""

    coach = None  # type: ignore[assignment]
    roof = Roof()
    survey = SurveyChange()  # type: ignore[assignment]


class TrialInput(StrictSerializer):
    editions = DraftInput(many=True, min_length=1, max_length=MOST_DRAFTS)
    on = DayField(
        required=False, allow_null=True, default=None, help_text="Day on which all is worked out; left out, the shop's today."
    )
    quotes = ChosenInput(required=False, default={"last_issued": 0, "ids": []}, help_text="Kept quotes, on their own inputs.")
    coaches = QuoteInput(many=True, max_length=MOST_COACHES, required=False, default=[])
    samples = SampleInput(many=True, max_length=MOST_COACHES, required=False, default=[])

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        quotes = attrs["quotes"]
        if not (quotes["last_issued"] or quotes["ids"] or attrs["coaches"] or attrs["samples"]):
            words = "Expected quotes, coaches or samples to try the drafts on."
            raise ValidationError({"quotes": [ErrorDetail(words, "required")]})
        return attrs


class EditionTrial(ShopView):
    # Answers hold what the work costs the shop.
    roles: ClassVar = {"POST": frozenset({MANAGER})}

    @operation(
        "try_editions",
        "What drafts of editions do to coaches and issued quotes, before anything is saved",
        body=TrialInput,
        answers={200: TrialShape},
        refusals=[*DRAFT_REFUSALS, "other_shop", "survey_of_another_coach", "retired"],
    )
    def post(self, request: Request) -> Response:
        """Everything is worked out twice for the same day, on what is in force and with the drafts laid over it.

        A kept quote is worked out from its own inputs and compared with its stored figures besides: `drift` is what editions
        that came into force since then have changed, `change` what the drafts would. Drafts are checked as on saving. A quote
        that cannot be worked out is told with its refusal.
        """
        shop = self.context.shop
        values = body_values(request, shop, TrialInput)
        quotes, coaches = values["quotes"], _coaches(shop, values["coaches"])
        trial = try_editions(
            shop=shop,
            day=values["on"] or shop_day(shop),
            drafts=edition_drafts(values["editions"]),
            chosen=Chosen(quotes["last_issued"], tuple(dict.fromkeys(quotes["ids"]))),
            coaches=[*coaches, *map(sample_inputs, values["samples"])],
        )
        return Response(trial_answer(shop, trial, samples_from=len(coaches)))


def edition_drafts(values: Sequence[Mapping[str, Any]]) -> list[EditionDraft]:
    """The drafts that checked values describe."""
    return [EditionDraft(draft["kind"], draft["slug"], draft["way"], draft.get("contents")) for draft in values]


def _coaches(shop: Shop, wanted: list[dict[str, Any]]) -> list[QuoteInputs]:
    """The frozen inputs of the coaches of a request; references that lead nowhere are told all at once."""
    try:
        surveys = surveys_of(shop, [(one["coach"], one["survey"]) for one in wanted])
    except CalculationError as fault:
        fault.under("coaches")
        raise
    return [frozen_inputs(survey, wish_of(one)) for survey, one in zip(surveys, wanted, strict=True)]


def sample_inputs(values: Mapping[str, Any]) -> QuoteInputs:
    """The frozen inputs of a coach and a survey that stand in the request."""
    said = values["survey"]
    survey = survey_from(said["method"], said["made_on"], marks_kept(said))
    return inputs_on(roof_from(stored(values["roof"])), survey, wish_of(values))
