"""What are photographs, found notes and counted work answered as, and how are photographs told?"""

from typing import Any

from rest_framework import serializers

from api.rest.fields import StrictSerializer, TextField, refuse, shown

MOST_PHOTOGRAPHS = 50
_HASH_DIGITS = 64


class HashField(TextField):
    """SHA-256 of a file, in small hexadecimal digits."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=_HASH_DIGITS, **kwargs)

    def to_internal_value(self, data: object) -> str:
        text = super().to_internal_value(data)
        if text and (len(text) != _HASH_DIGITS or set(text) - set("0123456789abcdef")):
            raise refuse("bad_hash", f"Expected 64 hexadecimal digits in small letters, not {shown(text)}.")
        return text


class PhotographInput(StrictSerializer):
    """A photograph, which is kept elsewhere: by what name, and of which bytes."""

    reference = TextField(help_text="Its name or address where the shop keeps it.")
    sha256 = HashField(required=False, allow_blank=True, default="", help_text="Shows that it was not exchanged.")
    words = TextField(required=False, allow_blank=True, default="", help_text="What it shows.")


def photographs(**kwargs: Any) -> PhotographInput:
    """The member that lists photographs."""
    return PhotographInput(many=True, max_length=MOST_PHOTOGRAPHS, required=False, default=[], **kwargs)


class PhotographShape(serializers.Serializer[Any]):
    reference = serializers.CharField()
    sha256 = serializers.CharField()
    words = serializers.CharField()


class LeftOfShape(serializers.Serializer[Any]):
    component = serializers.CharField()
    construction = serializers.CharField()
    left = serializers.CharField(help_text="Allowance less draws: information, may be below 0.")


class FoundNoteShape(serializers.Serializer[Any]):
    """Hidden work that was found and drew the pot; a correction has everything with the other sign."""

    number = serializers.IntegerField()
    client_id = serializers.UUIDField(allow_null=True)
    component = serializers.CharField()
    construction = serializers.CharField()
    extent = serializers.CharField(help_text="In the unit, four decimals.")
    unit = serializers.CharField()
    unit_price = serializers.CharField()
    work = serializers.CharField(help_text="Extent x unit price, rounded.")
    set_up = serializers.CharField(help_text="Charged with the first note of the component.")
    amount = serializers.CharField(help_text="What it takes of the pot.")
    parts = serializers.CharField(help_text="What of the amount is parts for tax.")
    left = serializers.CharField(help_text="What the pot holds after it.")
    left_by_component = LeftOfShape(many=True)
    photographs = PhotographShape(many=True)
    note = serializers.CharField()
    counted = serializers.CharField(help_text="Counted work whose quoted quantity was passed; empty otherwise.")
    opening = serializers.IntegerField(allow_null=True)
    corrects = serializers.IntegerField(allow_null=True, help_text="Number of the note that it takes back.")
    created = serializers.DateTimeField()


class CountedCreditShape(serializers.Serializer[Any]):
    position = serializers.IntegerField(help_text="Of the line in the job.")
    kind = serializers.CharField()
    slug = serializers.CharField()
    trade = serializers.CharField()
    name = serializers.CharField()
    tax_class = serializers.CharField()
    unit_price = serializers.CharField(help_text="Billed less for each that was not done.")
    amount = serializers.CharField(help_text="What it is billed less.")


class CountedSettlementShape(serializers.Serializer[Any]):
    """How counted work was settled; the last of an assembly holds."""

    id = serializers.IntegerField()
    client_id = serializers.UUIDField(allow_null=True)
    assembly = serializers.CharField()
    quoted = serializers.CharField()
    done = serializers.CharField()
    unit = serializers.CharField()
    credit = serializers.CharField(help_text="What is billed less, 0 or more; set-ups stay.")
    lines = CountedCreditShape(many=True)
    note = serializers.CharField()
    created = serializers.DateTimeField()
