"""How is one field of an edition's contents read, and how is it written?

Contents are JSON-like: texts, whole numbers, floats, yes/no, lists and tables. Amounts, shares and sizes that
end in money are texts ("0.35"), so that no float ever touches them. A `Codec` reads one such value, refusing
what it did not expect with the field's path, and writes it back, and carries a JSON Schema of what it takes;
a `Field` names it and says what holds when it is absent; `read_table` reads a whole table and collects every
fault instead of stopping at the first.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Generic, TypeVar, cast

from costbase.calc.errors import CalculationError, CalculationFaults

T = TypeVar("T")
Schema = Mapping[str, object]

SLUG = re.compile(r"[a-z0-9]+(?:[-_][a-z0-9]+)*")
LONGEST_SLUG = 60
_AMOUNT = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,6})?")
_CONTROL = re.compile(r"[\x00-\x1f\x7f\ud800-\udfff\u2028\u2029]")
# A spreadsheet runs a cell that begins like this as a formula; a name that goes out in a table must not.
_RUNS_IN_A_SPREADSHEET = ("=", "+", "-", "@")


class ContentsError(CalculationError):
    """A field of contents that is not as expected."""

    code = "bad_contents"


@dataclass(frozen=True)
class Codec(Generic[T]):
    """Reads a field's value and writes it back: ``write(read(x, path))`` is x in its normal form.

    `read` raises a CalculationError whose field is the path (or a path below it), or several at once. `cell`
    says how a cell of a plain table holds the value: as "text", a "whole" number, or a "flag" (yes or no).
    `schema` is the JSON Schema (2020-12) of the values that `read` takes; None where nobody said one.
    """

    read: Callable[[object, str], T]
    write: Callable[[T], object]
    cell: str = "text"
    schema: Schema | None = None


@dataclass(frozen=True, slots=True)
class Required:
    """Stands in `Field.absent` for a field that has to be given."""


REQUIRED = Required()


@dataclass(frozen=True)
class Field:
    """A named field: how it is read, and what it is when absent (then it is not written either)."""

    name: str
    codec: Codec[object]
    absent: object = REQUIRED


def field(name: str, codec: Codec[T], absent: T | Required | None = REQUIRED) -> Field:
    """A field of any codec; the table of fields is of one type only because the values differ."""
    return Field(name, cast(Codec[object], codec), absent)


def at(path: str, name: str | int) -> str:
    """The path of a part below another path."""
    return f"{path}/{name}" if path else str(name)


def read_table(table: object, fields: Sequence[Field], path: str = "") -> dict[str, object]:
    """The values of a table by field name.

    Args:
        table: a mapping with text keys.
        fields: every field there is.
        path: where the table stands in the input.

    Raises:
        CalculationFaults: every field that is missing, unknown or not as expected.
    """
    if not isinstance(table, Mapping):
        raise CalculationFaults([ContentsError(f"expected a table of fields, not {shown(table)}", field=path, value=table)])
    faults: list[CalculationError] = _unknown_fields(table, fields, path)
    values: dict[str, object] = {}
    for entry in fields:
        if entry.name in table:
            _collect(values, faults, entry, table[entry.name], at(path, entry.name))
        elif isinstance(entry.absent, Required):
            faults.append(ContentsError(f"{entry.name} is missing", field=at(path, entry.name)))
        else:
            values[entry.name] = entry.absent
    if faults:
        raise CalculationFaults(faults)
    return values


def _collect(values: dict[str, object], faults: list[CalculationError], entry: Field, value: object, path: str) -> None:
    try:
        values[entry.name] = entry.codec.read(value, path)
    except CalculationFaults as several:
        faults.extend(several.faults)
    except CalculationError as fault:
        faults.append(fault)


def _unknown_fields(table: Mapping[object, object], fields: Sequence[Field], path: str) -> list[CalculationError]:
    known = [entry.name for entry in fields]
    return [
        ContentsError(
            f"unknown field {shown(key)}: expected {', '.join(known)}", field=at(path, str(key)[:LONGEST_SLUG]), value=key
        )
        for key in table
        if key not in known
    ]


def write_table(values: Callable[[str], object], fields: Iterable[Field]) -> dict[str, object]:
    """The contents of a value, in the order of the fields; what is as when absent is left out.

    Args:
        values: gives the value of a field by its name.
        fields: every field there is.
    """
    return {
        entry.name: entry.codec.write(values(entry.name))
        for entry in fields
        if isinstance(entry.absent, Required) or values(entry.name) != entry.absent
    }


def shown(value: object) -> str:
    """The value as a message quotes it, cut to 60 characters."""
    try:
        text = repr(value)
    except ValueError:
        # Python refuses to write out a whole number of thousands of digits.
        text = f"a {type(value).__name__} too long to show"
    return text if len(text) <= 60 else text[:57] + "..."


def _same(value: T) -> object:
    return value


def text(longest: int, *, empty: bool = False) -> Codec[str]:
    """Words on one line; they may not begin like a formula of a spreadsheet."""

    def read(value: object, path: str) -> str:
        if not isinstance(value, str) or len(value) > longest or not (empty or value.strip()):
            raise ContentsError(
                f"expected a text of at most {longest} characters, not {shown(value)}",
                field=path,
                value=value,
            )
        if _CONTROL.search(value) or value != value.strip():
            raise ContentsError(f"expected one line without spaces at its ends, not {shown(value)}", field=path, value=value)
        if value.startswith(_RUNS_IN_A_SPREADSHEET):
            raise ContentsError(
                f"expected a text that does not begin with {value[0]}, which a spreadsheet would run",
                field=path,
                value=value,
            )
        return value

    shape = {"type": "string", "maxLength": longest}
    return Codec(read, _same, schema=shape if empty else {**shape, "minLength": 1})


def _read_formula(value: object, path: str) -> str:
    # What it says is checked with the measures and materials it names, where those are known.
    if not isinstance(value, str) or not value.strip():
        raise ContentsError(f"expected a formula as text, not {shown(value)}", field=path, value=value)
    return value


def _read_slug(value: object, path: str) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_SLUG or not SLUG.fullmatch(value):
        raise ContentsError(
            f"expected small letters, digits and single hyphens or underscores, at most {LONGEST_SLUG}, not {shown(value)}",
            field=path,
            value=value,
        )
    return value


def choice(*options: str) -> Codec[str]:
    """One of a few words."""

    def read(value: object, path: str) -> str:
        if not isinstance(value, str) or value not in options:
            raise ContentsError(f"expected one of {', '.join(options)}, not {shown(value)}", field=path, value=value)
        return value

    return Codec(read, _same, schema={"type": "string", "enum": list(options)})


def amount(low: str = "0", high: str = "1000000000", *, above: bool = False) -> Codec[Decimal]:
    """A decimal as text within a range, such as "24.00": at most 12 digits before the point and 6 after."""
    least, most = Decimal(low), Decimal(high)
    wanted = f'a number as text {"above" if above else "from"} {low} to {high}, such as "12.50"'

    def read(value: object, path: str) -> Decimal:
        if not isinstance(value, str) or not _AMOUNT.fullmatch(value):
            raise ContentsError(f"expected {wanted}, not {shown(value)}", field=path, value=value)
        number = Decimal(value)
        if not least <= number <= most or (above and number == least):
            raise ContentsError(f"expected {wanted}, not {value}", field=path, value=value)
        return number

    return Codec(read, str, schema={"type": "string", "pattern": f"^{_AMOUNT.pattern}$", "description": f"Expected {wanted}."})


def number(low: float, high: float) -> Codec[float]:
    """A plain number within a range; a whole one comes in as well and is written as a float."""

    def read(value: object, path: str) -> float:
        fits = not isinstance(value, bool) and isinstance(value, int | float)
        if not fits or not low <= cast(float, value) <= high:
            raise ContentsError(f"expected a number from {low:g} to {high:g}, not {shown(value)}", field=path, value=value)
        return float(cast(float, value))

    return Codec(read, _same, schema={"type": "number", "minimum": low, "maximum": high})


def whole(low: int, high: int) -> Codec[int]:
    """A whole number within a range."""

    def read(value: object, path: str) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise ContentsError(f"expected a whole number from {low} to {high}, not {shown(value)}", field=path, value=value)
        return value

    return Codec(read, _same, "whole", {"type": "integer", "minimum": low, "maximum": high})


def _read_flag(value: object, path: str) -> bool:
    if not isinstance(value, bool):
        raise ContentsError(f"expected yes or no (true or false), not {shown(value)}", field=path, value=value)
    return value


def _entries(value: object, path: str, most: int) -> list[object]:
    if not isinstance(value, list | tuple) or len(value) > most:
        raise ContentsError(f"expected a list of at most {most}, not {shown(value)}", field=path, value=value)
    return list(value)


def listed(entry: Codec[T], most: int = 200) -> Codec[tuple[T, ...]]:
    """A list in its own order, without the same entry twice."""

    def read(value: object, path: str) -> tuple[T, ...]:
        found = _read_each(_entries(value, path, most), entry, path)
        for index, one in enumerate(found):
            if one in found[:index]:
                raise ContentsError(f"{shown(entry.write(one))} is in the list twice", field=at(path, index), value=one)
        return tuple(found)

    shape = {"type": "array", "items": entry.schema or {}, "maxItems": most, "uniqueItems": True}
    return Codec(read, lambda values: [entry.write(value) for value in values], schema=shape)


def _read_each(values: list[object], entry: Codec[T], path: str) -> list[T]:
    found: list[T] = []
    faults: list[CalculationError] = []
    for index, value in enumerate(values):
        try:
            found.append(entry.read(value, at(path, index)))
        except CalculationFaults as several:
            faults.extend(several.faults)
        except CalculationError as fault:
            faults.append(fault)
    if faults:
        raise CalculationFaults(faults)
    return found


def any_order(entry: Codec[str], most: int = 200) -> Codec[frozenset[str]]:
    """A list whose order says nothing; it is written in alphabetical order."""
    ordered = listed(entry, most)
    return Codec(
        lambda value, path: frozenset(ordered.read(value, path)),
        lambda values: ordered.write(tuple(sorted(values))),
        schema=ordered.schema,
    )


def by_name(name: Codec[str], entry: Codec[T], most: int = 200, order: Sequence[str] = ()) -> Codec[dict[str, T]]:
    """A table from names to entries, written in the given order of names, else in alphabetical order."""

    def read(value: object, path: str) -> dict[str, T]:
        if not isinstance(value, Mapping) or len(value) > most:
            raise ContentsError(f"expected a table of at most {most} entries, not {shown(value)}", field=path, value=value)
        keys = _read_each(list(value), name, path)
        found = _read_each([_At(key, value[key]) for key in keys], _below(entry, path), path)
        return dict(zip(keys, found, strict=True))

    def write(values: dict[str, T]) -> object:
        keys = sorted(values, key=order.index) if order else sorted(values)
        return {key: entry.write(values[key]) for key in keys}

    shape = {"type": "object", "additionalProperties": entry.schema or {}, "maxProperties": most}
    return Codec(read, write, schema={**shape, "propertyNames": name.schema} if name.schema else shape)


@dataclass(frozen=True, slots=True)
class _At:
    """An entry of a table with its name, so that a fault points to the name and not to its position."""

    name: str
    value: object


def _below(entry: Codec[T], path: str) -> Codec[T]:
    def read(value: object, _: str) -> T:
        named = cast(_At, value)
        return entry.read(named.value, at(path, named.name))

    return Codec(read, entry.write)


def table_of(fields: Sequence[Field], make: Callable[..., T]) -> Codec[T]:
    """A table inside the contents, such as one labour rate of an assembly."""

    def read(value: object, path: str) -> T:
        return make(**read_table(value, fields, path))

    return Codec(read, lambda made: write_table(lambda name: getattr(made, name), fields), schema=schema_of(fields))


def or_none(schema: Schema | None) -> Schema | None:
    """The schema of a value that may also be null."""
    return schema and {"oneOf": [schema, {"type": "null"}]}


def schema_of(fields: Sequence[Field]) -> dict[str, object]:
    """The JSON Schema of a table: every field, and which have to be given. What holds when one is absent is its default."""
    return {
        "type": "object",
        "properties": {entry.name: _with_default(entry) for entry in fields},
        "required": [entry.name for entry in fields if isinstance(entry.absent, Required)],
        "additionalProperties": False,
    }


def _with_default(entry: Field) -> Schema:
    schema = entry.codec.schema or {}
    if isinstance(entry.absent, Required) or entry.absent is None:
        return schema
    return {**schema, "default": entry.codec.write(entry.absent)}


FORMULA = Codec(_read_formula, _same, schema={"type": "string", "minLength": 1, "description": "A formula over measures."})
SLUG_TEXT = Codec(_read_slug, _same, schema={"type": "string", "pattern": f"^{SLUG.pattern}$", "maxLength": LONGEST_SLUG})
YES_NO = Codec(_read_flag, _same, "flag", {"type": "boolean"})
NAME = text(120)
WORDS = text(400)
SHARE = amount("0", "1")
