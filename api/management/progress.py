"""How does a person see that something is at work? A line for each step, with the time that it took."""

import time
from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console

_WIDTH = 44


class Progress:
    """Writes to standard error, so that standard output holds the result alone."""

    def __init__(self) -> None:
        self._console = Console(stderr=True, highlight=False, soft_wrap=True)

    @contextmanager
    def step(self, words: str) -> Iterator[None]:
        """Says what begins; when it is done, how long it took."""
        begun = time.monotonic()
        self._console.print(f"{words:.<{_WIDTH}}" if self._console.is_terminal else words, style="dim", end="")
        try:
            yield
        except BaseException:
            self._console.print()
            raise
        self._console.print(f" {time.monotonic() - begun:.1f} s", style="dim")

    def say(self, words: str) -> None:
        """A line by itself."""
        self._console.print(words, style="dim", markup=False)
