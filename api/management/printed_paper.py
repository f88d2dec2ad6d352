"""What do all sections of a printed quote share: width, margins, headings, tables, glyphs?"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from rich.console import Console
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from api.management.printed_words import bar, money

Quote = Mapping[str, Any]
Cell = str | Text

# Narrower, and amounts would be cut; a narrower screen breaks lines instead.
NARROWEST: Final = 76
WIDEST: Final = 120
ROOMY: Final = 100  # From here on there is room for a column more.
MARGIN: Final = 2
GAP: Final = 2
BOLD: Final = "bold"
FAINT: Final = "dim"


class Paper:
    """A quote and the console that it is written to."""

    def __init__(self, console: Console, quote: Quote) -> None:
        console.width = max(console.width, NARROWEST)
        self._console = console
        self.quote = quote
        self.width = min(console.width, WIDEST) - MARGIN
        self.is_roomy = console.width >= ROOMY
        self._plain = not console.encoding.lower().startswith("utf")

    def money(self, amount: str) -> str:
        """An amount in the quote's currency."""
        return money(amount, self.quote["currency"])

    def heading(self, text: str) -> None:
        self.space()
        line = Rule(Text(text, style=BOLD), align="left", style="yellow", characters="-" if self._plain else "─")
        self._console.print(line, width=self.width + MARGIN)

    def space(self) -> None:
        self._console.print()

    def line(self, text: Cell, style: str = "") -> None:
        self._print(_cell(text, style))

    def points(self, texts: Iterable[str]) -> None:
        """A list, each text behind a dash."""
        grid = Table.grid(padding=(0, 1))
        grid.add_column(width=1)
        grid.add_column(overflow="fold")
        for text in texts:
            grid.add_row("-", Text(text))
        self._print(grid)

    def table(self, columns: Sequence[str], rows: Iterable[Sequence[Cell]], *, last: Sequence[Cell] = ()) -> None:
        """A table whose columns with numbers, marked by a leading ``>``, stand at the right.

        Args:
            columns: headings; one without text has no heading.
            rows: cells, as many as columns.
            last: the row of the sum, if there is one.
        """
        table = Table(box=None, padding=(0, GAP, 0, 0), pad_edge=False, show_header=any(c.strip(">") for c in columns))
        for column in columns:
            right = column.startswith(">")
            heading = Text(column.removeprefix(">"), style=FAINT)
            table.add_column(heading, justify="right" if right else "left", no_wrap=right, overflow="fold")
        for row in rows:
            table.add_row(*(_cell(cell) for cell in row))
        if last:
            table.add_row(*(_cell(cell, BOLD) for cell in last))
        self._print(table)

    def bar(self, parts: Sequence[tuple[str, str | float]], whole: str | float, width: int) -> Text:
        """A bar of money or shares; see `printed_words.bar`."""
        return bar([(kind, float(size)) for kind, size in parts], float(whole), width, plain=self._plain)

    def _print(self, thing: Table | Text) -> None:
        self._console.print(Padding(thing, (0, 0, 0, MARGIN), expand=False), width=self.width + MARGIN)


def _cell(cell: Cell, style: str = "") -> Text:
    """A cell as it stands: a text of ours or a customer's is no markup."""
    return Text(cell, style=style) if isinstance(cell, str) else cell
