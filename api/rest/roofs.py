"""How is a roof written in a request, and how is it shown again?

The members are those of `quotes.calc.geometry`, each size with its unit. Ranges and places are checked by the core, which tells
every fault with its pointer; here stand only the kinds of the values and how many of them there may be.
"""

from typing import Any

from rest_framework import serializers

from api.rest.fields import (
    MeasureField,
    OneOfField,
    StrictSerializer,
    TextField,
    WholeField,
    refuse,
)
from costbase.calc.units import ANGLE, LENGTH, MASS, Quantity
from quotes.calc.geometry import (
    ATTACHMENT_KINDS,
    CONSTRUCTIONS,
    DECKS,
    JOINT_KINDS,
    OLD_SKINS,
    OPENING_KINDS,
    SECTION_KINDS,
)

# Above every number that the core takes: it refuses with better words, this only bounds its work.
_MOST_PARTS = 200
_MOST_COUNT = 100_000


def _inches(**kwargs: Any) -> MeasureField:
    return MeasureField(LENGTH, us="in", metric="mm", **kwargs)


class Opening(StrictSerializer):
    label = TextField(help_text="Its name in the section, such as vent 2.")  # type: ignore[assignment]
    kind = OneOfField(OPENING_KINDS)
    station = _inches(help_text="From the section's front end back to the centre.")
    offset = _inches(help_text="From the driver edge in to the centre.")
    length = _inches(help_text="Along the coach, outside of the flange; of an air conditioner the hole.")
    width = _inches(help_text="Across the coach, likewise; of a stack the same diameter as its length.")
    mass = MeasureField(
        MASS, us="lb", metric="kg", required=False, help_text="Of the unit on it; an air conditioner's must be said."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if "mass" not in attrs:
            if attrs["kind"] == "air_conditioner":
                raise serializers.ValidationError(
                    {"mass": refuse("required", "Expected the mass of the unit, such as 95 lb.").detail}
                )
            attrs["mass"] = Quantity("0 lb", 0.0, MASS)
        return attrs


class Attachment(StrictSerializer):
    kind = OneOfField(ATTACHMENT_KINDS)
    count = WholeField(max_value=_MOST_COUNT)
    feet = WholeField(
        max_value=_MOST_COUNT, required=False, default=0, help_text="In total; only ladders and solar panels have feet."
    )
    station = _inches(
        required=False, allow_null=True, default=None, help_text="From the section's front end, where it was noted."
    )


class Section(StrictSerializer):
    label = TextField(help_text="Its name on the coach.")  # type: ignore[assignment]
    kind = OneOfField(SECTION_KINDS)
    construction = OneOfField(CONSTRUCTIONS)
    old_skin = OneOfField(OLD_SKINS, help_text="The skin that lies on it now.")
    deck = OneOfField(DECKS, help_text="The board under that skin.")
    length = MeasureField(LENGTH, us="ft", metric="m", help_text="Flat length between the joints at its two ends.")
    body_width = _inches(help_text="Outside width at the gutter line; of a slide room how deep it is.")
    crown_rise = _inches(help_text="Rise of the crown over the chord between the two edge radii.")
    edge_radius = _inches(help_text="Of the rolled side edge; 0 in for a square one.")
    edge_sweep = MeasureField(ANGLE, us="deg", metric="deg", help_text="How far each edge turns; 90 deg ends upright.")
    tuck = _inches(help_text="Flat tail of skin in each gutter rail.")
    core_thickness = _inches(help_text="Of the foam core; 0 in where there is none.")
    rafter_spacing = _inches(help_text="Centre to centre; 0 in for a foam core without rafters.")
    openings = Opening(many=True, max_length=_MOST_PARTS)
    attachments = Attachment(many=True, max_length=_MOST_PARTS)
    captive_nuts = WholeField(max_value=_MOST_COUNT)
    wiring_runs = WholeField(max_value=_MOST_COUNT)


class Joint(StrictSerializer):
    kind = OneOfField(JOINT_KINDS)
    front = TextField(help_text="Label of the section whose rear end meets.")
    rear = TextField(help_text="Label of the section whose front end meets.")


class Roof(StrictSerializer):
    sections = Section(many=True, max_length=_MOST_PARTS)
    joints = Joint(
        many=True, max_length=_MOST_PARTS, required=False, default=[], help_text="An end without one is an outer cap."
    )
