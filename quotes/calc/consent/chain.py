"""Would it show if somebody had changed, left out or slipped in a consent?

Each record holds the hash of the one before it, and its own hash is of everything it says, that hash included. Who changes one
record has to change every later one, and the last hash of a chain stands in whatever was sent to the owner.

Source: hash chaining of log records, common practice; SHA-256, FIPS 180-4.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError

FIRST = "0" * 64
"""Stands where a chain's first record would name the one before it."""


class NotCanonicalError(CalculationError):
    """A value that has no one way to be written, such as a float."""

    code = "not_canonical"


@dataclass(frozen=True, slots=True)
class BrokenLink:
    """A record that does not follow: where it stands in the chain, and what is wrong with it."""

    seq: int
    reason: str


def canonical(value: object) -> str:
    """A value as the one text that is hashed: JSON with sorted names, no spaces, every Decimal as its digits.

    Raises:
        NotCanonicalError: a float, or anything else that could be written in several ways.
    """
    return json.dumps(_plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def document_hash(document: Mapping[str, object]) -> str:
    """The SHA-256 of a document as it was shown, 64 hexadecimal digits."""
    return hashlib.sha256(canonical(document).encode()).hexdigest()


def record_hash(before: str, record: Mapping[str, object]) -> str:
    """The hash of a record that follows the one with the hash `before`."""
    return hashlib.sha256(f"{before}\n{canonical(record)}".encode()).hexdigest()


def broken_links(records: Sequence[tuple[int, str, str, Mapping[str, object]]]) -> tuple[BrokenLink, ...]:
    """Every record of a chain that does not follow from the one before it.

    Args:
        records: in order, each its seq, the hash it names as the one before, its own hash, and what it says.
    """
    broken = []
    before, expected = FIRST, 1
    for seq, named, own, record in records:
        if seq != expected:
            broken.append(BrokenLink(seq, f"expected record {expected} here"))
        elif named != before:
            broken.append(BrokenLink(seq, "names another record before it than the one that stands there"))
        if own != record_hash(named, record):
            broken.append(BrokenLink(seq, "says something else than was hashed"))
        before, expected = own, seq + 1
    return tuple(broken)


def _plain(value: object) -> object:
    if isinstance(value, Decimal):
        # 2.50 out of a column with three decimals is 2.500, and the same amount.
        return format(value.normalize(), "f")
    if isinstance(value, Mapping):
        return {str(name): _plain(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    if value is None or isinstance(value, str | bool | int):
        return value
    raise NotCanonicalError(f"expected texts, whole numbers, decimals, lists and mappings, not {type(value).__name__}")
