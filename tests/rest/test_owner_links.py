"""What an owner can do with a link, and nobody without one."""

import pytest

from tests.rest.consenting import SMALL, by_link, make_link, yes
from tests.rest.quoting import Quoting

pytestmark = pytest.mark.django_db


def test_an_owner_reads_and_accepts_by_a_link(quoting: Quoting) -> None:
    quote = quoting.issued(**SMALL)
    link = make_link(quoting, quote["id"])
    read = by_link(link["token"])
    assert read.status_code == 200, read.content.decode()
    answer = by_link(link["token"], "/acceptance", yes(read.json()))
    assert answer.status_code == 201, answer.content.decode()
    assert answer.json()["state"] == "accepted"
    assert by_link(link["token"]).json()["answers"][0]["hash"] == answer.json()["hash"]
