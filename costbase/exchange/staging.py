"""What did a file bring in, and what is wrong with it?

A file is staged as a whole: the editions it holds, in the normal form of their contents, and every fault with the
place where a person finds it. Nothing is applied from a file with a fault.

Opening a file finds its rows; what stands in a row is read later, one by one, so that a long file can be read in parts.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from costbase.calc.contents import read_kind, write
from costbase.calc.cost_base import EditionRef
from costbase.calc.errors import CalculationError, CalculationFaults

# A price list of every material that a supplier has is a quarter of this.
MOST_BYTES = 4_000_000
MOST_ROWS = 20_000


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


# What reads contents of a kind into their normal form; raises CalculationError with fields below the contents.
ContentsReader = Callable[[object], dict[str, object]]
Readers = Mapping[str, ContentsReader]


@dataclass(frozen=True, slots=True)
class Row:
    """One edition of an opened file, not read yet: its kind and slug as far as they are known, and where it stands."""

    kind: str
    slug: str
    place: str
    read: Callable[[], Staged | list[TableFault]]


@dataclass(frozen=True, slots=True)
class Opened:
    """A file whose rows are known. With any fault in `faults` there are none to read."""

    file: str
    rows: tuple[Row, ...]
    faults: tuple[TableFault, ...]

    def staging(self) -> Staging:
        """All rows read."""
        return gather(self.file, [row.read() for row in self.rows], list(self.faults))


def opened(file: str, rows: list[Row], faults: list[TableFault]) -> Opened:
    """An opened file; one with more rows than can be staged, or with none, has that for its fault."""
    if not faults and len(rows) > MOST_ROWS:
        faults = [TableFault(file, "", "", f"expected at most {MOST_ROWS:,} editions in a file, not {len(rows):,}")]
    if not faults and not rows:
        faults = [_without_editions(file)]
    return Opened(file, () if faults else tuple(rows), tuple(faults))


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


def stage(
    file: str, kind: str, slug: str, contents: object, place: str, reader: ContentsReader | None = None
) -> Staged | list[TableFault]:
    """One edition in normal form, or everything that is wrong with it.

    Args:
        file: its name, for the faults.
        kind: of the edition.
        slug: of the edition.
        contents: as they stand in the file.
        place: where, for the faults.
        reader: for a kind that the cost base only keeps; None for its own.
    """
    try:
        if reader is not None:
            return Staged(kind, slug, reader(contents), place)
        # The day and the owner are chosen when the file is applied; contents do not depend on them.
        return Staged(kind, slug, write(read_kind(kind, contents, EditionRef(kind, slug, "network", ""))), place)
    except CalculationFaults as several:
        return [_fault(file, place, fault) for fault in several.faults]
    except CalculationError as fault:
        return [_fault(file, place, fault)]


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
        faults.append(_without_editions(file))
    return Staging(file, tuple(entries), tuple(faults))


def _without_editions(file: str) -> TableFault:
    # Applied, it would change nothing, and whoever sent it would think otherwise.
    return TableFault(file, "", "", "expected at least one edition: a row below the columns, or a table [kind.slug]")
