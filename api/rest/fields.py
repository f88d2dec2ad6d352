"""Which kinds of values cross the edge, and in which form?

REST framework's own fields take what was not meant: a number for a text, "12" for a number, "yes" for true.
These take one form each and say which one they expected. Quantities carry their unit, amounts of money are
texts with their currency.
"""

import re
import uuid
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency
from costbase.calc.units import BY_SYMBOL, Dimension, Quantity, from_value, parse, show

LONGEST_NAME = 200
LONGEST_NOTE = 4_000

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_INSTANT = re.compile(
    r"(?:19|20)[0-9]{2}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6})?)?(?:Z|[+-][0-9]{2}:[0-9]{2})"
)
_SLUG = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
_PLAIN_DECIMAL = re.compile(r"-?[0-9]{1,13}(?:\.[0-9]{1,20})?")
# Suggestions are worked out for the first few unknown names only: each one costs a comparison with every
# known name.
_MOST_SUGGESTIONS = 20


def refuse(code: str, detail: str) -> ValidationError:
    """The refusal of one value."""
    return ValidationError(detail, code)


def shown(value: object) -> str:
    """A client's value as a refusal quotes it: short, whatever it was."""
    text = repr(value) if isinstance(value, str) else _kind(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _kind(value: object) -> str:
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, int | float):
        return f"the number {value!r}"
    return "a list" if isinstance(value, list) else "an object"


class TextField(serializers.CharField):
    """A text, trimmed; a number is none."""

    def __init__(self, *, max_length: int = LONGEST_NAME, **kwargs: Any) -> None:
        super().__init__(max_length=max_length, **kwargs)

    def to_internal_value(self, data: object) -> str:
        if not isinstance(data, str):
            raise refuse("not_text", f"Expected a text, not {shown(data)}.")
        return data.strip()


class SlugField(TextField):
    """A slug: what stands in addresses and formulas instead of a number."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=63, **kwargs)

    def to_internal_value(self, data: object) -> str:
        text = super().to_internal_value(data)
        if not _SLUG.fullmatch(text):
            raise refuse("bad_slug", f"Expected 1 to 63 small letters, digits and inner hyphens, not {shown(text)}.")
        return text


class EmailField(TextField, serializers.EmailField):
    """An e-mail address."""

    default_error_messages: ClassVar = {"invalid": "Expected an e-mail address such as ann@example.org."}


class WholeField(serializers.IntegerField):
    """A whole number within bounds; neither "12" nor 12.0 nor true is one."""

    def __init__(self, *, min_value: int = 0, max_value: int, **kwargs: Any) -> None:
        super().__init__(min_value=min_value, max_value=max_value, **kwargs)

    def to_internal_value(self, data: object) -> int:
        if isinstance(data, bool) or not isinstance(data, int):
            raise refuse("not_whole", f"Expected a whole number, not {shown(data)}.")
        return data


class FlagField(serializers.BooleanField):
    """true or false, and no word that sounds like one."""

    def to_internal_value(self, data: object) -> bool:
        if not isinstance(data, bool):
            raise refuse("not_flag", f"Expected true or false, not {shown(data)}.")
        return data


class DayField(serializers.DateField):
    """A day such as 2026-03-01."""

    def to_internal_value(self, value: object) -> date:
        try:
            if isinstance(value, str) and _DAY.fullmatch(value):
                return date.fromisoformat(value)
        except ValueError:
            pass
        raise refuse("not_day", f"Expected a day of the calendar such as 2026-03-01, not {shown(value)}.")


class InstantField(serializers.DateTimeField):
    """An instant with its zone, such as 2026-03-01T14:30:00-06:00; a time that leaves the zone to be guessed is none."""

    def to_internal_value(self, value: object) -> datetime:
        try:
            if isinstance(value, str) and _INSTANT.fullmatch(value):
                return datetime.fromisoformat(value)
        except ValueError:
            pass
        raise refuse("not_instant", f"Expected an instant with its zone such as 2026-03-01T14:30:00Z, not {shown(value)}.")


class UuidField(serializers.UUIDField):
    """An id that the client made, so that it can send the same thing twice."""

    def to_internal_value(self, data: object) -> uuid.UUID:
        try:
            if isinstance(data, str) and len(data) == 36:
                return uuid.UUID(data)
        except ValueError:
            pass
        raise refuse("not_uuid", f"Expected a UUID such as 2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10, not {shown(data)}.")


class OneOfField(serializers.ChoiceField):
    """One of a few texts; a refusal names the nearest or all of them."""

    def __init__(self, choices: Iterable[str], **kwargs: Any) -> None:
        super().__init__(choices=tuple(choices), **kwargs)

    def to_internal_value(self, data: object) -> str:
        known = [str(choice) for choice in self.choices]
        if isinstance(data, str) and data in known:
            return data
        raise refuse("unknown_choice", f"Expected one of {', '.join(known)}, not {shown(data)}.{_nearest(data, known)}")


class ShareField(serializers.DecimalField):
    """A share between 0 and 1 (0.08, never 8), as a JSON number or as a text; answered as a text."""

    def __init__(self, *, places: int = 6, **kwargs: Any) -> None:
        super().__init__(max_digits=None, decimal_places=places, **kwargs)
        self.places = places

    def to_internal_value(self, data: object) -> Decimal:
        value = _decimal(data)
        if value is None or not 0 <= value <= 1 or _decimals(value) > self.places:
            raise refuse(
                "bad_share",
                f"Expected a share between 0 and 1 with at most {self.places} decimals, not {shown(data)}.",
            )
        return value

    def to_representation(self, value: Decimal | float) -> str:
        # A document keeps shares as JSON numbers; repr is the shortest text that means one.
        exact = Decimal(repr(value)) if isinstance(value, float) else value
        return f"{exact.normalize():f}" if exact else "0"


MEASURE_SCHEMA = {
    "oneOf": [
        {"type": "string", "maxLength": 40, "examples": ["33 ft 6 in"]},
        {
            "type": "object",
            "properties": {
                "value": {"type": "string", "description": "A plain decimal number."},
                "unit": {"type": "string", "enum": sorted(BY_SYMBOL)},
                "entered": {
                    "type": "string",
                    "description": "As it was entered; answered, and taken back.",
                },
            },
            "required": ["value", "unit"],
            "additionalProperties": False,
        },
    ]
}


@extend_schema_field(MEASURE_SCHEMA)
class MeasureField(serializers.Field[Any, object, dict[str, str], Any]):
    """A quantity with its unit: ``"33 ft 6 in"`` or ``{"value": "10.2", "unit": "m"}``; a `Quantity` inside.

    Answered as value, unit and the text that was entered; the unit is `us` or `metric`, as the shop measures
    (``context["unit_system"]``).
    """

    def __init__(self, dimension: Dimension, *, us: str, metric: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.dimension = dimension
        self.units = {"us": us, "metric": metric}

    def to_internal_value(self, data: object) -> Quantity:
        try:
            if isinstance(data, Mapping):
                return self._of_object(data)
            return parse(data, self.dimension)  # type: ignore[arg-type]
        except CalculationError as error:
            raise _at(error.field, error.code, _sentence(error.message)) from error

    def _of_object(self, data: Mapping[str, object]) -> Quantity:
        unknown = unknown_members(data, ("value", "unit", "entered"))
        missing = {name: [ErrorDetail("Expected this member.", "required")] for name in ("value", "unit") if name not in data}
        if unknown or missing:
            raise ValidationError({**unknown, **missing})
        quantity = from_value(data["value"], data["unit"], self.dimension)  # type: ignore[arg-type]
        if "entered" not in data:
            return quantity
        entered = parse(data["entered"], self.dimension, field="entered")  # type: ignore[arg-type]
        # What was answered comes back: the entered text is exact, the value beside it was rounded.
        if show(entered.canonical, str(data["unit"])) != show(quantity.canonical, str(data["unit"])):
            raise _at(
                "entered",
                "measure_disagrees",
                f"Expected the same as value and unit say ({quantity.entered}), not {shown(data['entered'])};"
                " leave entered out to change a measure.",
            )
        return entered

    def to_representation(self, value: Quantity | Mapping[str, Any]) -> dict[str, str]:
        # A mapping is a measure of a document, as `quotes.exchange.documents.stored` keeps it.
        unit = self.units[self.context["unit_system"]]
        if isinstance(value, Mapping):
            return measure_shown(value["canonical"], unit, value["entered"])
        return measure_shown(value.canonical, unit, value.entered)


def measure_shown(canonical: float, unit: str, entered: str) -> dict[str, str]:
    """A measure as it is answered."""
    number, _, symbol = show(canonical, unit).rpartition(" ")
    return {"value": number, "unit": symbol, "entered": entered}


_AMOUNT_SCHEMA = {
    "type": "object",
    "properties": {
        "amount": {"type": "string", "examples": ["12.30"]},
        "currency": {"type": "string", "examples": ["USD"], "description": "The shop's currency."},
    },
    "required": ["amount", "currency"],
    "additionalProperties": False,
}


@extend_schema_field(_AMOUNT_SCHEMA)
class AmountField(serializers.Field[Decimal, object, dict[str, str], object]):
    """An amount of the shop's currency (``context["currency"]``): ``{"amount": "12.30", "currency": "USD"}``.

    Never rounded, neither in nor out: more decimals than the currency has are refused. `places` allows more,
    for rates and unit prices.
    """

    def __init__(self, *, places: int | None = None, negative: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.places = places
        self.negative = negative

    @property
    def _currency(self) -> Currency:
        currency: Currency = self.context["currency"]
        return currency

    def to_internal_value(self, data: object) -> Decimal:
        if not isinstance(data, Mapping):
            raise refuse(
                "not_object",
                f'Expected an object such as {{"amount": "12.30", "currency": "{self._currency.code}"}}.',
            )
        faults = unknown_members(data, ("amount", "currency"))
        if data.get("currency") != self._currency.code:
            words = f"Expected the shop's currency {self._currency.code}, not {shown(data.get('currency'))}."
            faults["currency"] = [ErrorDetail(words, "wrong_currency")]
        amount = data.get("amount")
        value = _decimal(amount) if isinstance(amount, str) else None
        if value is None or (value < 0 and not self.negative):
            words = f"Expected a plain decimal number as text, such as 12.30, not {shown(amount)}."
            faults["amount"] = [ErrorDetail(words, "bad_amount")]
        elif _decimals(value) > self._places:
            words = f"Expected at most {self._places} decimals of {self._currency.code}, not {shown(amount)}."
            faults["amount"] = [ErrorDetail(words, "amount_too_fine")]
        if faults or value is None:
            raise ValidationError(faults)
        return value

    @property
    def _places(self) -> int:
        return self._currency.digits if self.places is None else self.places

    def to_representation(self, value: Decimal) -> dict[str, str]:
        # Columns hold more decimals than most currencies have; those are zeros, or the amount was never
        # rounded.
        exact = value.quantize(Decimal(1).scaleb(-self._places))
        if exact != value:
            raise ValueError(f"{value} has more than {self._places} decimals")
        return {"amount": f"{exact:f}", "currency": self._currency.code}


class StrictSerializer(serializers.Serializer[Any]):
    """An object of known members: an unknown one is refused with the nearest known name, beside others.

    With ``changes=True`` absent members of the object itself are left out of the values, while the objects
    inside it stay whole: what is called partial in REST framework would let their members go missing too.
    """

    def __init__(self, *args: Any, changes: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._changes = changes

    @property
    def _writable_fields(self) -> list[serializers.Field[Any, Any, Any, Any]]:
        return [
            field
            for name, field in self.fields.items()
            if not field.read_only and (not self._changes or name in self.initial_data)
        ]

    def to_internal_value(self, data: object) -> dict[str, Any]:
        if not isinstance(data, Mapping):
            raise refuse("not_object", f"Expected a JSON object, not {shown(data)}.")
        faults = unknown_members(data, [name for name, field in self.fields.items() if not field.read_only])
        values: dict[str, Any] = {}
        try:
            values = super().to_internal_value(data)
        except ValidationError as error:
            faults.update(error.detail)  # type: ignore[arg-type]
        if faults:
            raise ValidationError(faults)
        return values


def unknown_members(data: Mapping[str, object], known: Iterable[str]) -> dict[str, Any]:
    """The faults of members that nobody knows, by name."""
    names = list(known)
    unknown = [name for name in data if name not in names]
    return {
        name: [
            ErrorDetail(
                f"Unknown member.{_nearest(name, names) if index < _MOST_SUGGESTIONS else ''}",
                "unknown_field",
            )
        ]
        for index, name in enumerate(unknown)
    }


def _nearest(word: object, known: list[str]) -> str:
    close = get_close_matches(word[:40], known, n=1) if isinstance(word, str) else []
    return f" Did you mean {close[0]}?" if close else ""


def _at(field: str, code: str, detail: str) -> ValidationError:
    fault = [ErrorDetail(detail, code)]
    return ValidationError({field: fault} if field else fault)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:] + "." * (not words.endswith("."))


def _decimal(data: object) -> Decimal | None:
    """A plain decimal number from a text or a JSON number; None for anything else."""
    if isinstance(data, bool) or not isinstance(data, str | int | float):
        return None
    # repr of a float is the shortest text that means it, which is what the client wrote.
    text = data if isinstance(data, str) else f"{Decimal(repr(data)):f}"
    try:
        return Decimal(text) if _PLAIN_DECIMAL.fullmatch(text) else None
    except InvalidOperation:
        return None


def _decimals(value: Decimal) -> int:
    exponent = value.normalize().as_tuple().exponent
    return max(0, -int(exponent))
