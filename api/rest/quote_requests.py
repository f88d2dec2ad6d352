"""What may a request for a quote say?"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from api.rest.errors import pointer, problem_of
from api.rest.fields import (
    MEASURE_SCHEMA,
    MeasureField,
    OneOfField,
    SlugField,
    StrictSerializer,
    TextField,
    WholeField,
    refuse,
    shown,
)
from costbase.calc.errors import CalculationError
from costbase.calc.formula import Choice, Number
from costbase.calc.measures import MEASURES, SKINS, Measure, misfit
from costbase.calc.units import LENGTH, NONE, show
from quotes.actions.quote_inputs import Wish
from quotes.calc.geometry import Span
from quotes.calc.inputs import DaysOverride, Entered, TierOverride
from quotes.calc.labour import ChosenCondition
from quotes.calc.options import MOST_OFFERED
from quotes.calc.severity import TIERS

_LARGEST_ID = 2**63 - 1
_MOST = 200


class SpanInput(StrictSerializer):
    section = TextField()
    start = MeasureField(LENGTH, us="ft", metric="m", help_text="Station of the front end of the work.")
    end = MeasureField(LENGTH, us="ft", metric="m", help_text="Station of its rear end.")


class ConditionInput(StrictSerializer):
    condition = SlugField()
    reason = TextField(max_length=400, help_text="Why it holds on this job; stands on every line that it multiplies.")


@extend_schema_field({"oneOf": [*MEASURE_SCHEMA["oneOf"], {"type": "boolean"}, {"type": "number"}]})
class EnteredValueField(serializers.Field[Any, object, Any, Any]):
    """A value of any measure: a quantity with its unit, a whole number, a share such as 0.15, yes or no, or a word."""

    def to_internal_value(self, data: object) -> object:
        if data is None or isinstance(data, list):
            raise refuse("bad_measure", f"Expected a quantity with its unit, a number, true or false, not {shown(data)}.")
        return data

    def to_representation(self, value: object) -> object:
        return value


class EntryInput(StrictSerializer):
    measure = TextField(max_length=63, help_text="Slug of the measure, such as brace_count.")
    section = TextField(required=False, allow_blank=True, default="", help_text="Roof section; needed where there are several.")
    value = EnteredValueField()
    reason = TextField(required=False, allow_blank=True, default="", max_length=400)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        measure = MEASURES.get(attrs["measure"])
        if measure is None:
            raise ValidationError({"measure": [ErrorDetail(f"Unknown measure {shown(attrs['measure'])}.", "unknown_measure")]})
        try:
            canonical, text = _entered(measure, attrs["value"])
        except ValidationError as error:
            raise ValidationError({"value": error.detail}) from error
        return {**attrs, "canonical": canonical, "text": text}


def _entered(measure: Measure, value: object) -> tuple[float | bool | str, str]:
    """The canonical value of a measure and the words for it."""
    kind = measure.kind
    if isinstance(kind, Number):
        return _number(measure, kind, value)
    why = misfit(measure, value)
    if why:
        raise refuse("bad_measure", f"Expected {why} of {measure.slug}, not {shown(value)}.")
    if isinstance(kind, Choice):
        return str(value), str(value)
    return bool(value), "yes" if value else "no"


def _number(measure: Measure, kind: Number, value: object) -> tuple[float, str]:
    if kind.dimension == NONE and isinstance(value, int | float) and not isinstance(value, bool):
        canonical, text = float(value), str(value)
    else:
        quantity = MeasureField(kind.dimension, us="", metric="").to_internal_value(value)
        canonical, text = quantity.canonical, quantity.entered
    why = misfit(measure, canonical)
    if why:
        raise refuse("bad_measure", f"Expected {why} of {measure.slug}, not {text}.")
    return canonical, text


class TierInput(StrictSerializer):
    tier = OneOfField(TIERS)
    reason = TextField(max_length=400, help_text="Why the rules are not followed, in writing.")


class DaysInput(StrictSerializer):
    low = WholeField(min_value=1, max_value=365)
    high = WholeField(min_value=1, max_value=365)
    reason = TextField(max_length=400)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["high"] < attrs["low"]:
            raise ValidationError({"high": [ErrorDetail(f"Expected at least {attrs['low']} days.", "bad_days")]})
        return attrs


class QuoteInput(StrictSerializer):
    coach = WholeField(min_value=1, max_value=_LARGEST_ID, help_text="Id of the coach.")
    survey = WholeField(min_value=1, max_value=_LARGEST_ID, help_text="Id of a survey of that coach.")
    plan = SlugField(help_text="Scope plan in force, such as full-rebuild.")
    skin = OneOfField(SKINS, help_text="The new skin.")
    reference = TextField(max_length=100, required=False, allow_blank=True, default="", help_text="The client's own number.")
    label = TextField(  # type: ignore[assignment]
        max_length=100, required=False, allow_blank=True, default="", help_text="What this is called where there is a choice."
    )
    scope = SpanInput(
        many=True, max_length=30, required=False, default=[], help_text="Stations of the work; left out, the usual sections."
    )
    options = serializers.ListField(
        child=SlugField(), max_length=_MOST, required=False, default=[], help_text="Assemblies of kind option that are sold."
    )
    offered = serializers.ListField(
        child=SlugField(),
        max_length=MOST_OFFERED,
        required=False,
        default=[],
        help_text="Assemblies of kind option that the owner may tick, up to twelve; what each would change is answered.",
    )
    conditions = ConditionInput(many=True, max_length=50, required=False, default=[])
    measures = EntryInput(
        many=True, max_length=_MOST, required=False, default=[], help_text="What the estimator says; holds against the survey."
    )
    tier = TierInput(required=False, allow_null=True, default=None)
    days = DaysInput(required=False, allow_null=True, default=None)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        slugs = [condition["condition"] for condition in attrs["conditions"]]
        faults = said_twice("options", attrs["options"]) | said_twice("conditions", slugs)
        entries = [(entry["measure"], entry["section"]) for entry in attrs["measures"]]
        faults |= said_twice("measures", entries) | said_twice("offered", attrs["offered"])
        if faults:
            raise ValidationError(faults)
        return attrs


def said_twice(name: str, values: list[Any]) -> dict[str, Any]:
    """The fault of every entry that says again what an earlier one said."""
    again = {
        at: {"non_field_errors": [ErrorDetail(f"Said twice: {shown(str(value))}.", "said_twice")]}
        for at, value in enumerate(values)
        if value in values[:at]
    }
    return {name: again} if again else {}


def wish_of(values: Mapping[str, Any]) -> Wish:
    """The frozen wish that checked values describe."""
    tier, days = values["tier"], values["days"]
    return Wish(
        plan=values["plan"],
        skin=values["skin"],
        scope=tuple(Span(s["section"], s["start"].canonical, s["end"].canonical) for s in values["scope"]),
        options=tuple(values["options"]),
        offered=tuple(values["offered"]),
        conditions=tuple(ChosenCondition(c["condition"], c["reason"]) for c in values["conditions"]),
        entered=tuple(Entered(e["measure"], e["section"], e["canonical"], e["text"], e["reason"]) for e in values["measures"]),
        override=TierOverride(tier["tier"], tier["reason"]) if tier else None,
        days=DaysOverride(float(days["low"]), float(days["high"]), days["reason"]) if days else None,
    )


@contextmanager
def pointing_into_the_request() -> Iterator[None]:
    """Refusals of the core point into what it was given; these point into the request, which names some of it otherwise.

    What is wrong with the stored coach or survey, or with what is in force, stands in no member of the request: the refusal
    points to the coach, to the survey or to the whole then, and its words name the section, the mark or the edition.
    """
    try:
        yield
    except CalculationError as error:
        problem = problem_of(error)
        if problem is None:
            raise
        problem.faults = tuple(replace(fault, pointer=member_of(fault.pointer)) for fault in problem.faults)
        raise problem from error


ROOF_PARTS = ("sections", "joints")
SURVEY_PARTS = ("method", "on", "cells", "strips", "rings", "findings", "repairs", "readings")
_OF_OVERRIDE = ("tier", "reason")


def member_of(pointed: str) -> str:
    """Where in the request for a quote the place is that a pointer of the core means."""
    head, *rest = pointed.removeprefix("#").strip("/").split("/")
    if head in ROOF_PARTS:
        return pointer("coach")
    if head in SURVEY_PARTS:
        return pointer("survey")
    if head in _OF_OVERRIDE and not rest:
        return pointer("tier", head)
    if head not in QuoteInput().fields:
        return "#"
    own = {"conditions": "condition", "measures": "measure"}.get(head, "")
    return pointer(head, *(own if own and name == "slug" else name for name in rest))


def station(canonical: float, unit_system: str) -> str:
    """A station as the shop reads it."""
    return show(canonical, "ft" if unit_system == "us" else "m")
