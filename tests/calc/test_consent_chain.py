"""The chain of consents: every change of a record shows, and so does leaving one out."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotes.calc.consent import FIRST, broken_links, canonical, record_hash
from quotes.calc.consent.chain import NotCanonicalError

Link = tuple[int, str, str, dict[str, object]]


def chain(*said: dict[str, object]) -> list[Link]:
    links: list[Link] = []
    before = FIRST
    for seq, record in enumerate(said, 1):
        own = record_hash(before, record)
        links.append((seq, before, own, record))
        before = own
    return links


def test_a_hash_is_of_the_text_that_anybody_can_write_down() -> None:
    # printf '%s\n%s' 000...0 '{"amount":"2.5","outcome":"accepted"}' | sha256sum
    import hashlib

    text = "0" * 64 + "\n" + '{"amount":"2.5","outcome":"accepted"}'
    assert record_hash(FIRST, {"outcome": "accepted", "amount": Decimal("2.500")}) == hashlib.sha256(text.encode()).hexdigest()


def test_a_whole_chain_is_sound() -> None:
    assert broken_links(chain({"a": 1}, {"a": 2}, {"a": 3})) == ()


@given(st.lists(st.dictionaries(st.text(max_size=3), st.integers(), max_size=3), min_size=1, max_size=6), st.data())
def test_a_changed_record_shows(said: list[dict[str, object]], data: st.DataObject) -> None:
    links = chain(*said)
    at = data.draw(st.integers(0, len(links) - 1))
    seq, before, own, record = links[at]
    links[at] = (seq, before, own, {**record, "changed": "yes"})
    assert [link.seq for link in broken_links(links)] == [seq]


def test_a_record_that_was_hashed_anew_breaks_the_next() -> None:
    links = chain({"a": 1}, {"a": 2}, {"a": 3})
    links[1] = (2, links[1][1], record_hash(links[1][1], {"a": 9}), {"a": 9})
    assert [link.seq for link in broken_links(links)] == [3]


def test_a_record_that_was_left_out_shows() -> None:
    links = chain({"a": 1}, {"a": 2}, {"a": 3})
    assert [link.seq for link in broken_links([links[0], links[2]])] == [3]


@pytest.mark.parametrize("value", [1.5, {"a": 0.1}, object()])
def test_what_could_be_written_in_several_ways_is_refused(value: object) -> None:
    with pytest.raises(NotCanonicalError):
        canonical(value)


def test_an_amount_is_the_same_with_more_decimals() -> None:
    assert canonical(Decimal("1200.00")) == canonical(Decimal("1200")) == '"1200"'
