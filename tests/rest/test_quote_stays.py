"""Who holds that an issued quote never changes? The database itself, whoever writes."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, ProgrammingError, connection, transaction

from api.environment import DatabaseUrl
from quotes.models import Quote, QuoteComponent, QuoteLine
from tests.conftest import log_in
from tests.rest.quoting import Quoting

Write = Callable[[Quoting, int], object]


def quote_rows(quoting: Quoting, quote_id: int) -> Any:
    return Quote.objects.for_shop(quoting.shop).filter(pk=quote_id)


def line_rows(quoting: Quoting, quote_id: int) -> Any:
    return QuoteLine.objects.for_shop(quoting.shop).filter(quote_id=quote_id)


def part_rows(quoting: Quoting, quote_id: int) -> Any:
    return QuoteComponent.objects.for_shop(quoting.shop).filter(quote_id=quote_id)


def add_copy(rows: Any) -> None:
    row = rows.first()
    row.pk, row.position = None, 9_999
    row.save(force_insert=True)


class TestTheDatabase:
    """An issued quote stays as it is whoever writes, the owner of the tables included."""

    @pytest.fixture
    def issued(self, quoting: Quoting) -> int:
        quoting.draft(plan="reseal", measures=[])
        number: int = quoting.issued(plan="reseal", measures=[])["id"]
        return number

    @pytest.mark.parametrize(
        "write",
        [
            lambda quoting, id_: quote_rows(quoting, id_).update(reference="another"),
            lambda quoting, id_: quote_rows(quoting, id_).update(atoms=[1.0] * 128),
            lambda quoting, id_: quote_rows(quoting, id_).update(inputs={}),
            lambda quoting, id_: quote_rows(quoting, id_).update(priced_on=date(2026, 1, 1)),
            lambda quoting, id_: quote_rows(quoting, id_).update(issued_at="2026-01-01T00:00:00Z"),
            lambda quoting, id_: quote_rows(quoting, id_).update(issued_by=None),
            lambda quoting, id_: quote_rows(quoting, id_).update(state="draft"),
            lambda quoting, id_: quote_rows(quoting, id_).update(state="accepted", reference="another"),
            lambda quoting, id_: quote_rows(quoting, id_).delete(),
            lambda quoting, id_: line_rows(quoting, id_).delete(),
            lambda quoting, id_: part_rows(quoting, id_).delete(),
            lambda quoting, id_: add_copy(line_rows(quoting, id_)),
            lambda quoting, id_: add_copy(part_rows(quoting, id_)),
        ],
    )
    def test_no_write_of_the_service_changes_it(self, quoting: Quoting, issued: int, write: Write) -> None:
        before = quoting.office.get(f"quotes/{issued}").json()
        with quoting.office.scope(), pytest.raises(IntegrityError, match="Q-2026-2"), transaction.atomic():
            write(quoting, issued)
        assert quoting.office.get(f"quotes/{issued}").json() == before

    @pytest.mark.parametrize("rows", [line_rows, part_rows])
    def test_the_service_changes_no_part_of_any_quote(
        self, quoting: Quoting, issued: int, rows: Callable[[Quoting, int], Any]
    ) -> None:
        with quoting.office.scope(), pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
            rows(quoting, issued).update(name="another")

    @pytest.mark.parametrize("state", ["accepted", "declined", "expired", "withdrawn", "superseded"])
    def test_its_state_and_version_go_on(self, quoting: Quoting, issued: int, state: str) -> None:
        with quoting.office.scope():
            assert quote_rows(quoting, issued).update(state=state, version=3) == 1

    def test_issuing_moves_no_price_in_the_same_breath(self, quoting: Quoting) -> None:
        draft = quoting.draft(plan="reseal", measures=[]).json()
        with quoting.office.scope(), pytest.raises(IntegrityError, match="stays as it is"), transaction.atomic():
            quote_rows(quoting, draft["id"]).update(state="issued", issued_at="2026-03-02T15:00:00Z", reference="another")

    def test_a_draft_is_free(self, quoting: Quoting) -> None:
        draft = quoting.draft(plan="reseal", measures=[]).json()
        with quoting.office.scope():
            quote_rows(quoting, draft["id"]).update(reference="another")
            line_rows(quoting, draft["id"]).delete()

    @pytest.mark.django_db(transaction=True)
    def test_the_owner_of_the_tables_moves_no_part_into_or_out_of_it(
        self, quoting: Quoting, owner_login: DatabaseUrl, app_login: DatabaseUrl
    ) -> None:
        draft = quoting.draft(plan="reseal", measures=[]).json()["id"]
        issued = quoting.issued(plan="reseal", measures=[])["id"]
        log_in(owner_login)
        try:
            for table in ("quotes_quoteline", "quotes_quotecomponent"):
                for from_, to in ((draft, issued), (issued, draft)):
                    with pytest.raises(IntegrityError, match="its parts stay as they are"), connection.cursor() as cursor:
                        cursor.execute(
                            f"UPDATE {table} SET quote_id = %s, position = 999 WHERE quote_id = %s AND position = 1",
                            [to, from_],
                        )
        finally:
            log_in(app_login)
