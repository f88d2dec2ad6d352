"""The layout of a stored quote, as data from which it can be drawn."""

from decimal import Decimal
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from costbase.models import NetworkEdition
from costbase.scope import network_scope
from quotes.models import Quote
from tests import make
from tests.rest import bodies
from tests.rest.office import office, problem
from tests.rest.quoting import Quoting

Body = dict[str, Any]


def layout_of(quoting: Quoting, quote: Body, role: str = ESTIMATOR) -> Body:
    answer = quoting.office.get(f"quotes/{quote['id']}/layout", role=role)
    assert answer.status_code == 200, answer.content.decode()
    told: Body = answer.json()
    return told


def stagger_boards(quoting: Quoting, stagger: str = "12 in") -> None:
    """Lays the network's lauan with a stagger, of a foot unless said, and no piece under a foot."""
    network = quoting.office.shop.network
    with network_scope(network.pk, make.OPERATOR):
        edition = NetworkEdition.objects.for_network(network).get(kind="material", slug="lauan-sheet-5-2-mm")
        edition.contents = {**edition.contents, "stagger": stagger, "least_piece": "12 in"}
        edition.save(update_fields=["contents"])


def test_plain_courses_are_told_with_every_sheet_in_its_place(quoting: Quoting) -> None:
    told = layout_of(quoting, quoting.draft().json())

    assert (told["unit"], told["area_unit"], told["boards"], told["patches"]) == ("in", "ft2", [], [])
    (deck,) = told["decks"]
    # 408 in: eight courses of 48 in and one of 24 in, each one sheet cut to 88.0682 in; 8 seams of it.
    assert (deck["section"], deck["board"], deck["direction"], deck["length"], deck["arc"]) == (
        "main", "", "across", "408", "88.0682",
    )  # fmt: skip
    assert [course["depth"] for course in deck["courses"]] == ["48"] * 8 + ["24"]
    assert [(piece["station"], piece["width"], piece["sheet"]) for piece in deck["pieces"]][-1] == ("384", "88.0682", 9)
    assert Decimal(deck["joint_length"]) == Decimal("704.5453")


def test_a_planned_board_is_told_with_its_sheets_cuts_and_offcuts(quoting: Quoting) -> None:
    stagger_boards(quoting)
    told = layout_of(quoting, quoting.draft().json(), ANALYST)

    (board,) = told["boards"]
    assert (board["board"], board["stagger"], board["least_piece"]) == ("lauan-sheet-5-2-mm", "12", "12")
    assert (len(board["sheets"]), board["bound_sheets"], board["least_possible"]) == (9, 8, False)
    assert {(sheet["length"], sheet["width"]) for sheet in board["sheets"]} == {("96", "48")}
    # 9 x 32 ft2 for 249.5265 ft2.
    assert board["waste_share"] == 0.1336
    (deck,) = told["decks"]
    assert (deck["board"], deck["direction"], len(deck["pieces"])) == ("lauan-sheet-5-2-mm", "across", 9)
    laid = sum(Decimal(piece["length"]) * Decimal(piece["width"]) for piece in deck["pieces"])
    assert abs(laid - Decimal(408) * Decimal("88.0682")) < 1
    # Every sheet is cut to 88.0682 in, and one of them to 24 in besides.
    assert len(board["cuts"]) == 10
    assert {cut["sheet"] for cut in board["cuts"]} == set(range(1, 10))


def test_marked_cells_are_told_as_the_patches_that_they_alone_would_take(quoting: Quoting) -> None:
    marks = [bodies.cell(code, "rotten", method="opened") for code in ("2A", "3A")]
    told = layout_of(quoting, quoting.draft(survey=quoting.add_survey(quoting.coach, cells=marks)).json())

    (section,) = told["patches"]
    # Rows 2 and 3 of lane A, at the driver edge: 48 x 22.0170 in = 7.3390 ft2; 48 + 2 x 22.0170 in of joint.
    assert section["patches"] == [{"station": "24", "offset": "0", "length": "48", "width": "22.017"}]
    assert (section["section"], section["area"], section["joint_length"], section["sheets"]) == ("main", "7.339", "92.0341", 1)
    assert [line["across"] for line in section["joints"]] == [False, True, True]


def test_a_board_whose_rules_cannot_be_kept_is_refused_with_what_to_change(quoting: Quoting) -> None:
    stagger_boards(quoting, "96 in")
    # 8.5 ft flat: a course across has ends, and no two of them stand 8 ft apart in it.
    wide = bodies.section(body_width="102 in", edge_radius="0 in", crown_rise="0 in", openings=[], attachments=[])
    coach = quoting.add_coach(bodies.coach(roof=bodies.roof(wide)))
    body = quoting.body(coach=coach, survey=quoting.add_survey(coach), measures=[])
    told = problem(quoting.office.post("quotes", body), 422)
    assert told["code"] == "bad_layout"
    assert "enter a smaller stagger or least piece" in told["errors"][0]["detail"]


def test_a_scope_that_begins_behind_the_front_says_where(quoting: Quoting) -> None:
    marks = [bodies.cell("5A", "rotten", method="opened")]
    scope = [{"section": "main", "start": "48 in", "end": "408 in"}]
    survey = quoting.add_survey(quoting.coach, cells=marks)
    told = layout_of(quoting, quoting.draft(plan="partial-roof", scope=scope, survey=survey, measures=[]).json())
    # Row 5 begins at 96 in, which is 48 in into the scope; the course from 96 to 144 in is replaced whole.
    assert (told["decks"][0]["scope_starts_at"], told["decks"][0]["length"]) == ("48", "48")
    assert told["patches"][0]["patches"][0]["station"] == "48"


def test_the_number_of_queries_does_not_depend_on_the_layout(quoting: Quoting) -> None:
    path = f"quotes/{quoting.draft().json()['id']}/layout"
    quoting.office.get(path)
    with CaptureQueriesContext(connection) as seen:
        assert quoting.office.get(path, role=ANALYST).status_code == 200
    # The quote with its cost base in one; what it was worked from is kept by the process.
    assert len([query for query in seen.captured_queries if "quotes_" in query["sql"]]) == 1


def test_a_quote_of_an_older_arithmetic_is_refused(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    with quoting.office.scope():
        Quote.objects.for_shop(quoting.office.shop).filter(pk=quote["id"]).update(engine=0)
    assert problem(quoting.office.get(f"quotes/{quote['id']}/layout"), 409)["code"] == "older_engine"


def test_another_shop_s_quote_has_no_layout(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    assert problem(office().get(f"quotes/{quote['id']}/layout"), 404)
