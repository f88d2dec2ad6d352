"""Formulas: what one would mean, before it is saved; and the measures that it may name."""

import math
from typing import Any, ClassVar

import django_filters
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from api.rest.base import NetworkView, ShopView
from api.rest.errors import Fault, invalid_input
from api.rest.fields import OneOfField, StrictSerializer, TextField, refuse, shown
from api.rest.openapi import operation
from api.rest.pagination import paginate_list
from api.rest.parsing import json_object
from api.rest.queries import checked_filters
from costbase.calc.formula import Checked, Choice, Flag, Kind, Number, check, entry_unit
from costbase.calc.measures import MEASURES, Measure, names
from costbase.calc.units import BY_SYMBOL, NONE, Dimension
from costbase.models import Network

Row = dict[str, Any]
_READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
_OF_NETWORK = frozenset({NETWORK_MANAGER})
LEVELS = ("section", "quote")
YES_NO, COUNT = "yes/no", "count"


class FormulaField(serializers.CharField):
    """A formula as it stands: cut or trimmed, its spans would point elsewhere."""

    def to_internal_value(self, data: object) -> str:
        if not isinstance(data, str):
            raise refuse("not_text", f"Expected a text, not {shown(data)}.")
        return data


class FormulaInput(StrictSerializer):
    """A formula and the place that it is meant for."""

    text = FormulaField(allow_blank=True, trim_whitespace=False, help_text="At most 1000 characters are understood.")
    level = OneOfField(LEVELS, help_text="section: of a roof section; quote: of the whole quote.")
    expects = TextField(
        max_length=40,
        required=False,
        allow_blank=True,
        default="",
        help_text=f"What its place wants: a unit (ft2), one by another (h/ft), {COUNT} or {YES_NO}; anything unless told.",
    )


class RangeShape(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(choices=["number", "whole number", YES_NO, "choice"])
    unit = serializers.CharField(help_text="In which low and high are said; empty for yes/no and choices.")
    low = serializers.FloatField(allow_null=True, help_text="The least it can be; null where nothing is known.")
    high = serializers.FloatField(allow_null=True)
    options = serializers.ListField(child=serializers.CharField(), help_text="Of a choice.")


class MeasureShape(RangeShape):
    slug = serializers.CharField()
    level = serializers.ChoiceField(choices=LEVELS, help_text="Whether each roof section has its own.")
    definition = serializers.CharField()
    source = serializers.CharField(  # type: ignore[assignment]
        help_text="Who says it: coach, survey, plan, estimator, or derived from others."
    )
    formula = serializers.CharField(help_text="How it is worked out where nobody says it; empty for none.")
    combined = serializers.CharField(help_text="How sections make one of it for the quote; none: a quote has none of it.")


class FormulaErrorShape(serializers.Serializer[Any]):
    start = serializers.IntegerField(help_text="First character, from 0.")
    end = serializers.IntegerField(help_text="The character after the last.")
    reason = serializers.CharField()
    suggestion = serializers.CharField(help_text="What to write there instead; empty where nothing is near.")


class FormulaWarningShape(serializers.Serializer[Any]):
    code = serializers.CharField()
    message = serializers.CharField(help_text="Begins with its span.")
    start = serializers.IntegerField()
    end = serializers.IntegerField()


class FormulaShape(serializers.Serializer[Any]):
    means_something = serializers.BooleanField()
    value = RangeShape(allow_null=True, help_text="What it comes to; null where an error hides it.")
    inputs = MeasureShape(many=True)
    errors = FormulaErrorShape(many=True)  # type: ignore[assignment]
    warnings = FormulaWarningShape(many=True)


class MeasureFilters(django_filters.FilterSet):  # type: ignore[misc]
    level = django_filters.ChoiceFilter(
        choices=[(level, level) for level in LEVELS], label="Only measures that formulas of this level may name."
    )
    slug = django_filters.CharFilter(max_length=60, label="Part of the slug.")


class ShopFormulaCheck(ShopView):
    roles: ClassVar = {"POST": _READERS}

    @operation("check_formula", "What a formula would mean", body=FormulaInput, answers={200: FormulaShape})
    def post(self, request: Request) -> Response:
        """Any text is answered: what it comes to, what it reads, and everything that is wrong with it."""
        return Response(_answer(request))


class NetworkFormulaCheck(NetworkView):
    roles: ClassVar = {"POST": _OF_NETWORK}

    @operation("check_network_formula", "What a formula would mean", body=FormulaInput, answers={200: FormulaShape})
    def post(self, request: Request) -> Response:
        return Response(_answer(request))


class ShopMeasures(ShopView):
    roles: ClassVar = {"GET": _READERS}

    @operation("list_measures", "Measures that formulas may name", answers={200: MeasureShape}, filters=MeasureFilters)
    def get(self, request: Request) -> Response:
        return Response(_measures(request))


class NetworkMeasures(NetworkView):
    roles: ClassVar = {"GET": _OF_NETWORK}

    @operation("list_network_measures", "Measures that formulas may name", answers={200: MeasureShape}, filters=MeasureFilters)
    def get(self, request: Request) -> Response:
        return Response(_measures(request))


def _answer(request: Request) -> Row:
    serializer = FormulaInput(data=json_object(request))
    serializer.is_valid(raise_exception=True)
    values = serializer.validated_data
    checked = check(values["text"], names(values["level"]), _expected(values["expects"]))
    return _told(checked, names(values["level"]))


def _expected(words: str) -> Kind | Dimension | None:
    if not words:
        return None
    if words == YES_NO:
        return Flag()
    if words == COUNT:
        return Number(NONE, whole=True, low=0.0)
    above, *below = words.split("/") if words not in BY_SYMBOL else [words]
    if len(below) < 2 and all(symbol in BY_SYMBOL for symbol in (above, *below)):
        dimension = BY_SYMBOL[above].dimension
        return dimension / BY_SYMBOL[below[0]].dimension if below else dimension
    known = ", ".join(BY_SYMBOL)
    words = f"Expected {YES_NO}, {COUNT}, one of {known}, or two of these with / between, not {shown(words)}."
    raise invalid_input([Fault("unknown_choice", words, pointer="#/expects")])


def _told(checked: Checked, kinds: dict[str, Kind]) -> Row:
    return {
        "means_something": not checked.errors,
        "value": None if checked.kind is None else _range(checked.kind),
        "inputs": [_measure(MEASURES[slug], kinds[slug]) for slug in checked.inputs],
        "errors": [
            {"start": e.span[0], "end": e.span[1], "reason": e.reason, "suggestion": e.suggestion} for e in checked.errors
        ],
        "warnings": [{"code": w.code, "message": w.message, "start": w.span[0], "end": w.span[1]} for w in checked.warnings],
    }


def _measures(request: Request) -> Row:
    # No table stands behind measures; the filters only say what was asked.
    asked = checked_filters(request, Network.objects.none(), MeasureFilters).form.cleaned_data
    level = asked["level"] or LEVELS[0]
    found = [MEASURES[slug] for slug in names(level) if asked["slug"] in slug]
    page = paginate_list(request, found, lambda measure: measure.slug)
    return page.document(lambda rows: [_measure(measure, names(level)[measure.slug]) for measure in rows])


def _measure(measure: Measure, kind: Kind) -> Row:
    return {
        "slug": measure.slug,
        **_range(kind, measure.unit),
        "level": measure.level,
        "definition": measure.definition,
        "source": measure.source,
        "formula": measure.formula or "",
        "combined": measure.combine,
    }


def _range(kind: Kind, unit: str = "") -> Row:
    """Kind and range of a value, in a unit or else in the one in which its dimension is shown."""
    if isinstance(kind, Flag):
        return {"kind": YES_NO, "unit": "", "low": None, "high": None, "options": []}
    if isinstance(kind, Choice):
        return {"kind": "choice", "unit": "", "low": None, "high": None, "options": sorted(kind.options)}
    is_share = kind.dimension == NONE and not kind.whole and kind.low >= 0 and kind.high <= 1
    plain = "share" if is_share else "each"
    symbol, factor = (unit, BY_SYMBOL[unit].factor) if unit else (plain, BY_SYMBOL[plain].factor)
    if not unit and kind.dimension != NONE:
        shown_in = entry_unit(kind.dimension)
        symbol, factor = shown_in.symbol, shown_in.factor
    bounds = {name: _bound(value, factor) for name, value in (("low", kind.low), ("high", kind.high))}
    return {"kind": "whole number" if kind.whole else "number", "unit": symbol, **bounds, "options": []}


def _bound(canonical: float, factor: Any) -> float | None:
    """A bound in a unit; None where there is none, or none that a number could hold."""
    if not math.isfinite(canonical):
        return None
    try:
        bound = canonical * factor.denominator / factor.numerator
    except OverflowError:
        return None
    return bound if math.isfinite(bound) else None
