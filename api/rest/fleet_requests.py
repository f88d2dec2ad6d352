"""What may a request for a fleet say?"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from api.rest.errors import pointer, problem_of
from api.rest.fields import OneOfField, SlugField, StrictSerializer, TextField, WholeField
from api.rest.quote_requests import ConditionInput, EntryInput, member_of, said_twice, wish_of
from costbase.calc.errors import CalculationError
from costbase.calc.measures import SKINS
from quotes.actions.fleet_inputs import CoachWish, FleetDraft
from quotes.actions.quote_inputs import Wish
from quotes.models.fleet import FEWEST_COACHES, MOST_COACHES

Values = Mapping[str, Any]

_LARGEST_ID = 2**63 - 1
_MOST = 200
# Said once for the whole fleet, so that a fault of theirs points there, whichever coach found it.
_COMMON = ("plan", "skin", "options", "conditions")
_NOTHING_ELSE: Values = {"scope": [], "offered": [], "tier": None, "days": None}


class FleetCoachInput(StrictSerializer):
    coach = WholeField(min_value=1, max_value=_LARGEST_ID, help_text="Id of the coach.")
    survey = WholeField(min_value=1, max_value=_LARGEST_ID, help_text="Id of a survey of that coach.")
    measures = EntryInput(
        many=True,
        max_length=_MOST,
        required=False,
        default=[],
        help_text="What the estimator says of this coach; a measure that is said here is not taken from those of all coaches.",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        return _once(attrs, said_twice("measures", _entries(attrs)))


class FleetInput(StrictSerializer):
    label = TextField(max_length=100, help_text="What the fleet is called.")  # type: ignore[assignment]
    customer = WholeField(min_value=1, max_value=_LARGEST_ID, help_text="Its coaches, or nobody's, may come.")
    coaches = FleetCoachInput(
        many=True, min_length=FEWEST_COACHES, max_length=MOST_COACHES, help_text="In the order in which they are worked on."
    )
    plan = SlugField(help_text="Scope plan in force, for all coaches; each over its usual sections.")
    skin = OneOfField(SKINS, help_text="The new skin of all coaches.")
    options = serializers.ListField(
        child=SlugField(), max_length=_MOST, required=False, default=[], help_text="Assemblies of kind option that are sold."
    )
    conditions = ConditionInput(many=True, max_length=50, required=False, default=[], help_text="Of all coaches.")
    measures = EntryInput(many=True, max_length=_MOST, required=False, default=[], help_text="Of all coaches.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        slugs = [condition["condition"] for condition in attrs["conditions"]]
        faults = said_twice("options", attrs["options"]) | said_twice("conditions", slugs)
        return _once(attrs, faults | said_twice("measures", _entries(attrs)))


def _entries(attrs: Values) -> list[Any]:
    return [(entry["measure"], entry["section"]) for entry in attrs["measures"]]


def _once(attrs: dict[str, Any], faults: dict[str, Any]) -> dict[str, Any]:
    if faults:
        raise ValidationError(faults)
    return attrs


def fleet_asked(values: Values, body: dict[str, Any]) -> tuple[FleetDraft, Wish]:
    """What checked values ask for: whose fleet with which coaches, and what is asked for all of them.

    Args:
        values: from a `FleetInput`.
        body: the request as it was sent, from which each coach's own request is taken.
    """
    wish = wish_of({**values, **_NOTHING_ELSE})
    coaches = tuple(
        CoachWish(
            coach_id=coach["coach"],
            survey_id=coach["survey"],
            entered=wish_of({**values, **_NOTHING_ELSE, "measures": coach["measures"]}).entered,
            request=_own_request(body, place),
        )
        for place, coach in enumerate(values["coaches"])
    )
    return FleetDraft(values["label"], values["customer"], coaches, body), wish


def _own_request(body: dict[str, Any], place: int) -> dict[str, Any]:
    """What would have to be sent for this coach alone."""
    coach = body["coaches"][place]
    own = coach.get("measures", [])
    again = {entry["measure"] for entry in own}
    common = [entry for entry in body.get("measures", []) if entry["measure"] not in again]
    asked = {name: body[name] for name in _COMMON if name in body}
    return {"coach": coach["coach"], "survey": coach["survey"], **asked, "measures": [*common, *own]}


@contextmanager
def pointing_into_the_fleet(values: Values) -> Iterator[None]:
    """As `pointing_into_the_request`, for a request that names several coaches; what several of them say is told once.

    Args:
        values: from a `FleetInput`.
    """
    try:
        yield
    except CalculationError as error:
        problem = problem_of(error)
        if problem is None:
            raise
        pointed = (replace(fault, pointer=_member(fault.pointer, values)) for fault in problem.faults)
        problem.faults = tuple(dict.fromkeys(pointed))
        raise problem from error


def _member(pointed: str, values: Values) -> str:
    """Where in the request for a fleet the place is that a pointer of the core means."""
    head, *rest = pointed.removeprefix("#").strip("/").split("/")
    if head != "coaches" or not rest:
        return pointer(head, *rest) if head in FleetInput().fields else "#"
    place, *below = rest
    member, *inside = member_of(pointer(*below)).removeprefix("#").strip("/").split("/")
    if member in _COMMON:
        return pointer(member, *inside)
    if member == "measures" and inside:
        return _measure(int(place), int(inside[0]), inside[1:], values)
    return pointer("coaches", place, *([member, *inside] if member else []))


def _measure(place: int, index: int, inside: Sequence[str], values: Values) -> str:
    """Where the entry stands that is number `index` of those which hold for a coach: first those of all, then its own."""
    own = {entry["measure"] for entry in values["coaches"][place]["measures"]}
    kept = [at for at, entry in enumerate(values["measures"]) if entry["measure"] not in own]
    if index < len(kept):
        return pointer("measures", str(kept[index]), *inside)
    return pointer("coaches", str(place), "measures", str(index - len(kept)), *inside)
