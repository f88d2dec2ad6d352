"""What did a file bring in, and what is wrong with it?

A file is staged as a whole: the editions it holds, in the normal form of their contents, and every fault with the
place where a person finds it. Nothing is applied from a file with a fault.
"""

from dataclasses import dataclass

from costbase.calc.contents import read_kind, write
from costbase.calc.cost_base import EditionRef
from costbase.calc.errors import CalculationError, CalculationFaults

# A cost base of every assembly and material that a shop has is a tenth of this.
MOST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class Staged:
    """One edition from a file: its contents in normal form, and where it stood ("row 5", "assembly skin-off")."""

    kind: str
    slug: str
    contents: dict[str, object]
    place: str


@dataclass(frozen=True, slots=True)
class TableFault:
    """One thing that is wrong with a file: file, row or table, column or field, and what was expected."""

    file: str
    place: str
    column: str
    reason: str


@dataclass(frozen=True, slots=True)
class Staging:
    """What one file holds. With any fault in `faults` it may not be applied."""

    file: str
    entries: tuple[Staged, ...]
    faults: tuple[TableFault, ...]


def read_text(file: str, content: bytes) -> str | TableFault:
    """The text of a file in UTF-8, with or without a byte order mark; a fault where it is none or too long."""
    if len(content) > MOST_BYTES:
        return TableFault(file, "", "", f"expected at most {MOST_BYTES:,} bytes, not {len(content):,}")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        return TableFault(file, f"line {line}", "", "expected text in UTF-8")
    if "\x00" in text:
        return TableFault(file, "", "", "expected text without NUL characters")
    return text


def stage(file: str, kind: str, slug: str, contents: object, place: str) -> Staged | list[TableFault]:
    """One edition in normal form, or everything that is wrong with it."""
    # The day and the owner are chosen when the file is applied; contents do not depend on them.
    edition = EditionRef(kind, slug, "network", "")
    try:
        value = read_kind(kind, contents, edition)
    except CalculationFaults as several:
        return [_fault(file, place, fault) for fault in several.faults]
    return Staged(kind, slug, write(value), place)


def _fault(file: str, place: str, fault: CalculationError) -> TableFault:
    return TableFault(file, place, fault.field, fault.message)


def gather(file: str, staged: list[Staged | list[TableFault]], faults: list[TableFault]) -> Staging:
    """The staging of a file; an edition that stands in it twice is a fault too, and so is a file without any."""
    entries: list[Staged] = []
    seen: dict[tuple[str, str], str] = {}
    for one in staged:
        if isinstance(one, list):
            faults.extend(one)
            continue
        earlier = seen.setdefault((one.kind, one.slug), one.place)
        if earlier != one.place:
            faults.append(TableFault(file, one.place, "slug", f"{one.slug} is there already: {earlier}"))
        entries.append(one)
    if not entries and not faults:
        # Applied, it would change nothing, and whoever sent it would think otherwise.
        faults.append(
            TableFault(file, "", "", "expected at least one edition: a row below the columns, or a table [kind.slug]")
        )
    return Staging(file, tuple(entries), tuple(faults))
