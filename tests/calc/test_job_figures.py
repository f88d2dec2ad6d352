"""What a job comes to so far, worked by hand."""

from decimal import Decimal

import pytest

from quotes.calc.found import figures_of, largest_share_of_parts
from quotes.calc.job import JobStateError, check_move_by_hand, moves_by_hand


def test_a_job_adds_up_by_tax_class() -> None:
    # The small roof of DEVELOPERS.md section 1: labour 2,521.00 and overhead 258.65 are labour, materials 652.14 and supplies
    # 60.00 are parts. Drawn 137.71, of it 7.71 parts; a frame of 80.00 and strip of 7.71 settled down; the patch of step 12 is
    # 200.00 of labour, 72.90 of adhesive and 21.83 of overhead.
    figures = figures_of(
        lines=[
            ("labour", Decimal("2521.00")),
            ("parts", Decimal("652.14")),
            ("parts", Decimal("60.00")),
            ("labour", Decimal("258.65")),
        ],
        drawn=Decimal("137.71"),
        drawn_parts=Decimal("7.71"),
        credits=[("labour", Decimal("80.00")), ("parts", Decimal("7.71"))],
        orders=[("labour", Decimal("200.00")), ("parts", Decimal("72.90")), ("labour", Decimal("21.83"))],
        record=Decimal(0),
        contingency=Decimal("137.71"),
        material_share=Decimal(0),
    )
    assert figures.base == Decimal("3491.79")
    assert (figures.drawn, figures.left) == (Decimal("137.71"), Decimal("0.00"))
    # Labour 2,779.65 - 80.00 + 130.00 + 221.83; parts 712.14 - 7.71 + 7.71 + 72.90.
    assert figures.by_class == {"labour": Decimal("3051.48"), "parts": Decimal("785.04")}
    # 3,491.79 - 87.71 + 137.71 + 294.73.
    assert figures.total == Decimal("3836.52")
    assert figures.authorised_by_class == {"labour": Decimal("3001.48"), "parts": Decimal("785.04")}
    assert figures.limit == Decimal("3924.23")


def test_parts_are_as_large_a_share_as_in_the_most_material_of_exposed_components() -> None:
    # 7.7112 of 87.7112; the second is not exposed, the third has no price.
    shares = [
        (Decimal(1), Decimal("80"), Decimal("7.7112")),
        (Decimal(0), Decimal(1), Decimal(3)),
        (Decimal(2), Decimal(0), Decimal(0)),
    ]
    assert largest_share_of_parts(shares) == Decimal("7.7112") / Decimal("87.7112")
    assert largest_share_of_parts([]) == 0


def test_a_roof_that_is_opened_is_not_rebuilt_before() -> None:
    assert moves_by_hand("booked", opens=True) == ("opening_up", "cancelled")
    assert moves_by_hand("booked", opens=False) == ("opening_up", "rebuilding", "cancelled")
    with pytest.raises(JobStateError, match="opening up before rebuilding"):
        check_move_by_hand("booked", "rebuilding", resumes="", opens=True)
    check_move_by_hand("booked", "rebuilding", resumes="", opens=False)


@pytest.mark.parametrize(
    ("state", "to", "words"),
    [
        ("opening_up", "waiting", "send the change order"),
        ("waiting", "rebuilding", "accepted, declined or withdrawn"),
        ("testing", "handed_over", "warranty record"),
        ("handed_over", "settled", "last bill"),
        ("stopped", "settled", "last bill"),
        ("booked", "waiting", "does not go to waiting"),
        ("settled", "testing", "expected nothing"),
    ],
)
def test_some_moves_are_not_made_by_hand(state: str, to: str, words: str) -> None:
    with pytest.raises(JobStateError, match=words):
        check_move_by_hand(state, to, resumes="rebuilding" if state == "waiting" else "", opens=True)


def test_a_waiting_job_has_no_move_by_hand_and_may_still_be_stopped() -> None:
    assert moves_by_hand("waiting", opens=True) == ()
    check_move_by_hand("waiting", "stopped", resumes="rebuilding", opens=True)
