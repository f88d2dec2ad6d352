"""Memos by the very object: what is kept, for whom, and for how long?"""

from costbase.calc.same import by_identity


def test_it_is_made_once_for_an_object_and_anew_for_an_equal_one() -> None:
    made: list[object] = []

    def length(words: list[str]) -> int:
        made.append(words)
        return len(words)

    of = by_identity(length, 10)
    one, equal = ["a", "b"], ["a", "b"]

    assert (of(one), of(one), of(equal)) == (2, 2, 2)
    assert made == [one, equal]
    assert made[0] is one
    assert made[1] is equal


def test_an_object_is_kept_with_what_was_made_of_it_so_that_no_other_takes_its_place() -> None:
    def first(words: list[str]) -> str:
        return words[0]

    of = by_identity(first, 10)

    # Each list would be gone before the next is made, and could lend it its id.
    assert [of([str(number)]) for number in range(10)] == [str(number) for number in range(10)]


def test_the_memo_begins_anew_when_it_is_full() -> None:
    made: list[int] = []

    def noted(words: list[int]) -> None:
        made.append(words[0])

    of = by_identity(noted, 2)
    lists = [[0], [1], [2]]
    for words in (*lists, lists[2], lists[0]):
        of(words)

    assert made == [0, 1, 2, 0]
