"""A quote on a terminal: everything that the owner signs is there, and nothing is wider than the screen."""

import io
from typing import Any

import pytest
from rich.console import Console

from api.management.printed_quote import Heading, print_quote
from tests.rest.quoting import Quoting

# The fixtures of the tests over HTTP, for a shop that can quote.
from tests.rest.conftest import clock, here, quoting  # noqa: F401  # isort: skip


def printed(quote: dict[str, Any], width: int) -> str:
    paper = io.StringIO()
    print_quote(Console(file=paper, width=width, highlight=False), quote, Heading(shop="Invented Shop", coach="Invented 34"))
    return paper.getvalue()


@pytest.mark.parametrize("width", [80, 120])
def test_a_quote_fits_the_screen_and_says_what_is_signed(quoting: Quoting, width: int) -> None:  # noqa: F811
    text = printed(quoting.issued(), width)

    assert max(map(len, text.splitlines())) <= width
    said = " ".join(text.split())
    assert "Quote Q-2026-1, revision 1, issued" in said
    assert "Invented 34: full rebuild Invented Shop Priced on 2 March 2026, good until 1 April 2026" in said
    # The published example of this coach, to the cent: base, allowance, reserve, their sum, limit, deposit.
    for amount in ("$29,912.27", "$2,038.10", "$1,606.61", "$3,644.71", "$33,556.98", "$8,973.68"):
        assert amount in said
    # 175.9849 hours, shown with one decimal.
    assert "All labour 176.0" in said
    assert "set aside for hidden work, billed only if found" in said
    assert "4 roofs in 5 like this stay inside" in said


def test_the_owners_words_have_room_on_a_wide_screen_only(quoting: Quoting) -> None:  # noqa: F811
    quote = quoting.issued()
    exposed = next(part for part in quote["hidden"] if not part["details"]["no_exposure"])
    first_word = exposed["owner_words"].split(",")[0].split()[:2]

    assert " ".join(first_word) in " ".join(printed(quote, 120).split())
    assert len(printed(quote, 120).splitlines()) < len(printed(quote, 80).splitlines())


def test_a_customers_words_are_no_markup(quoting: Quoting) -> None:  # noqa: F811
    quote = quoting.issued()
    quote["exclusions"] = ["[bold]Not[/bold] the ceiling"]

    assert "- [bold]Not[/bold] the ceiling" in printed(quote, 80)


def test_a_caution_is_given_once(quoting: Quoting) -> None:  # noqa: F811
    said = " ".join(printed(quoting.issued(), 120).split())

    for words in ("air conditioner weighs", "Awning springs", "Falls:", "not an engineered design"):
        assert said.count(words) == 1
