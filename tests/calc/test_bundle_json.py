"""Is the text of a cost base that is put together from kept parts the canonical one?"""

from dataclasses import replace
from decimal import Decimal

from costbase.calc.contents import bundle_json, canonical_json, fingerprint, from_contents, to_contents
from tests.calc.shipped_base import shipped


def test_it_is_the_canonical_json_of_the_bundle() -> None:
    for plan in ("full-rebuild", "coat"):
        base = shipped(plan)
        assert bundle_json(base) == canonical_json(to_contents(base))


def test_it_stays_so_when_one_entry_is_replaced() -> None:
    base = shipped()
    before = fingerprint(base)
    helper = replace(base.trades["helper"], billed_per_hour=Decimal("97.00"))
    dearer = replace(base, trades={**base.trades, "helper": helper})
    assert bundle_json(dearer) == canonical_json(to_contents(dearer))
    assert fingerprint(dearer) != before == fingerprint(base)


def test_the_same_entries_under_other_objects_have_the_same_text() -> None:
    base = shipped()
    assert bundle_json(from_contents(to_contents(base))) == bundle_json(base)
