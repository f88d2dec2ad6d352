"""A manager changes a rate, a price, an assembly and a rule; the next quote uses them, and the one that was issued stays."""

from api.accounts.roles import ESTIMATOR
from tests.rest.costing import body, entered, got
from tests.rest.quoting import Clock, Quoting, line_of


def test_the_next_quote_uses_what_a_manager_entered_and_an_issued_one_stays(quoting: Quoting, clock: Clock) -> None:
    office = quoting.office
    before = quoting.issued()
    clock.turn(days=1)

    # On 3 March: the estimator's hour at 140 instead of 125, the gasket at 40.00 instead of 27.00, four hours of intake instead
    # of three, and an overhead of a tenth instead of none.
    entered(office, "rates", body("rate", "estimator", "2026-03-03", billed_per_hour="140.00"))
    entered(office, "prices", body("price", "ac-gasket-14-in", "2026-03-03", pack_price="40.00"))
    hours = [{"trade": "estimator", "rate": "4 * hour"}]
    entered(office, "assemblies", body("assembly", "intake-survey", "2026-03-03", labour=hours))
    entered(office, "rules", body("rule", "standard", "2026-03-03", overhead_share="0.1"))

    answer = office.post("quotes", quoting.body(), role=ESTIMATOR)
    assert answer.status_code == 201, answer.content.decode()
    after = answer.json()
    intake = line_of(after, "intake-survey", "estimator")
    # 4 h x 140.00; before 3 h x 125.00.
    assert (intake["quantity"], intake["price"], intake["amount"]) == ("4.0000", "140.000000", "560.00")
    assert line_of(before, "intake-survey", "estimator")["amount"] == "375.00"
    # 40.00 x 1.35; before 27.00 x 1.35.
    assert line_of(after, "ac-gasket-14-in")["price"] == "54.000000"
    assert line_of(before, "ac-gasket-14-in")["price"] == "36.450000"
    # The shipped rule takes no overhead; a tenth of labour, goods and supplies is a line of its own.
    assert [line["slug"] for line in before["lines"] if line["slug"] == "overhead"] == []
    assert line_of(after, "overhead")["details"]["share"] == "0.1"

    # What was issued is read as it was answered then, and so is its why.
    assert got(office, f"quotes/{before['id']}") == before
    why = got(office, f"quotes/{before['id']}/lines/{intake_position(before)}/why")
    assert why["value"] == "375.00"


def intake_position(quote: dict[str, object]) -> int:
    position: int = line_of(quote, "intake-survey", "estimator")["position"]
    return position
