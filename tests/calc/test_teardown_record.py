"""What entries, notes and orders say together of a component; all extents are invented."""

import pytest

from quotes.calc.teardown import Entry, Note, Opened, OpenedError, Record, Taken, looks_of

DECK, EDGE = ("deck", "framed"), ("edge", "framed")
BOTH = (DECK, EDGE)


def entry(id_: int, at: float, opened: float, found: float, corrects: int | None = None) -> Entry:
    return Entry(id_, at, corrects, ((DECK, opened, found),))


def deck(*, entries: tuple[Entry, ...], notes: tuple[Note, ...] = (), orders: tuple[Taken, ...] = ()) -> list[Opened]:
    return list(looks_of(Record(entries, notes, orders), BOTH))


def order(at: float, repairs: float = 0.0, *, settles: bool) -> Taken:
    return Taken(at, ((DECK, repairs),) if repairs else (), frozenset({"deck"} if settles else ()))


def test_entries_are_looks_and_notes_add_up_whatever_they_correct() -> None:
    looks = deck(entries=(entry(1, 1, 30, 8), entry(2, 2, 20, 4)), notes=(Note(3, DECK, 6.0), Note(4, DECK, -2.0)))
    assert looks == [Opened(0, 30, 8), Opened(0, 20, 4), Opened(0, 0, 0, drawn=4.0)]


def test_an_entry_that_is_corrected_does_not_count() -> None:
    assert deck(entries=(entry(1, 1, 30, 8), entry(2, 2, 30, 5, corrects=1))) == [Opened(0, 30, 5)]


def test_a_note_taken_back_whole_is_no_look() -> None:
    assert deck(entries=(), notes=(Note(1, DECK, 6.0), Note(2, DECK, -6.0))) == []


def test_an_order_that_repairs_the_agreed_way_leaves_the_rest_to_notes() -> None:
    # 20 found, 12 of them ordered: the other 8 may still be drawn.
    looks = deck(entries=(entry(1, 1, 50, 20),), orders=(order(2, 12, settles=False),))
    assert looks[-1] == Opened(0, 0, 0, ordered=12.0)


def test_an_order_for_a_part_declines_what_was_found_and_neither_drawn_nor_ordered() -> None:
    # 20 found, 5 drawn, 9 ordered: 6 stay as they are.
    looks = deck(entries=(entry(1, 1, 50, 20),), notes=(Note(1, DECK, 5.0),), orders=(order(2, 9, settles=True),))
    assert looks[-1] == Opened(0, 0, 0, drawn=5.0, ordered=9.0, declined=6.0)


def test_what_is_found_or_drawn_later_is_no_part_of_it() -> None:
    entries = (entry(1, 1, 50, 20), entry(2, 5, 10, 7))
    looks = deck(entries=entries, notes=(Note(6, DECK, 7.0),), orders=(order(2, settles=True),))
    assert looks[-1] == Opened(0, 0, 0, drawn=7.0, declined=20.0)


def test_a_correction_made_later_is_of_the_look_that_it_corrects() -> None:
    # First 20, then put right to 16 after the order: 16 had been found when it was taken.
    looks = deck(entries=(entry(1, 1, 50, 20), entry(2, 9, 50, 16, corrects=1)), orders=(order(2, settles=True),))
    assert looks == [Opened(0, 50, 16), Opened(0, 0, 0, declined=16.0)]


def test_the_last_order_that_settles_a_component_holds() -> None:
    # All 20 closed up; then the owner has 15 of them repaired after all.
    looks = deck(entries=(entry(1, 1, 50, 20),), orders=(order(2, settles=True), order(3, 15, settles=True)))
    assert looks[-1] == Opened(0, 0, 0, ordered=15.0, declined=5.0)


def test_other_components_hear_nothing_of_it() -> None:
    record = Record((Entry(1, 1, None, ((DECK, 50, 20), (EDGE, 9, 3))),), (), (order(2, settles=True),))
    assert [look for look in looks_of(record, BOTH) if look.part == 1] == [Opened(1, 9, 3)]


def test_a_component_that_the_job_does_not_have_is_refused() -> None:
    with pytest.raises(OpenedError, match="no component 'deck' on a framed roof"):
        looks_of(Record((entry(1, 1, 5, 0),), (), ()), (EDGE,))
