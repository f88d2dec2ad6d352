"""What does a quote read from the tables, as frozen values?

The sample points and the templates of overrun once per process, the severity rules once per edition, a stored cost base once
per row, and the shop's record on such work. The coach and its survey come with the request (`actions/quote_inputs.py`), the
editions in force from `costbase/snapshot.py`.
"""

import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path

import numpy as np

from costbase.calc.contents import from_contents
from costbase.calc.cost_base import CostBase, SeverityContents
from costbase.calc.errors import CalculationError
from costbase.calc.same import Same
from costbase.snapshot import unreadable
from quotes.calc.consent import OverrunTemplate, shipped_templates
from quotes.calc.contingency import NO_HISTORY, CostFactors, SamplePoints, shipped_points
from quotes.calc.severity import SeverityRules
from quotes.models import FrozenCostBase, Job, Quote

POINTS = Path(__file__).with_name("points.npy")
OVERRUN_TEMPLATES = Path(__file__).with_name("overrun_templates.toml")


@lru_cache(maxsize=1)
def points() -> SamplePoints:
    """The fixed sample points that ship with the project, read once per process and checked against their checksum."""
    return shipped_points(np.load(POINTS))


@lru_cache(maxsize=1)
def overrun_templates() -> Mapping[str, OverrunTemplate]:
    """The templates that ship with the project by slug, read once per process and checked against their checksum."""
    text = OVERRUN_TEMPLATES.read_bytes()
    return shipped_templates(text, tomllib.loads(text.decode()))


def cost_factors() -> CostFactors:
    """The shop's record on such work. While no job of its network is closed there is none, and the model's start holds."""
    return NO_HISTORY


def severity_rules(severity: SeverityContents) -> SeverityRules:
    """The rules that an edition's contents say, read once per edition.

    Raises:
        EditionUnreadableError: contents that are no severity rules.
    """
    return _severity_rules(Same(severity))


@lru_cache(maxsize=256)
def _severity_rules(same: Same[SeverityContents]) -> SeverityRules:
    try:
        return SeverityRules.from_contents(same.value.contents)
    except CalculationError as fault:
        raise unreadable(same.value.edition, fault) from fault


def frozen_cost_base(priced: Quote | Job) -> CostBase:
    """The cost base that a quote was priced on, or a job agreed on; only ever inserted, so read and parsed once per process."""
    return frozen_cost_bases(priced.shop_id, [priced.cost_base_id])[priced.cost_base_id]


def frozen_cost_bases(shop_id: int, ids: Iterable[int]) -> dict[int, CostBase]:
    """Kept cost bases by the id of their rows: one query for those that this process has not read yet, none for the others."""
    wanted = set(ids)
    found = {id_: base for id_ in wanted if (base := _bases.get((shop_id, id_))) is not None}
    missing = wanted - set(found)
    if missing:
        rows = FrozenCostBase.objects.for_shop(shop_id).filter(pk__in=missing).values_list("pk", "contents")
        for id_, contents in rows:
            if len(_bases) >= _MOST_BASES:
                _bases.clear()
            found[id_] = _bases[shop_id, id_] = from_contents(contents)
    return found


# A parsed base is a few hundred editions; a hundred of them serve a shop that looks at its quotes of a month.
_MOST_BASES = 100
_bases: dict[tuple[int, int], CostBase] = {}


def forget() -> None:
    """Empties the memos of what was read from tables, so that a test or a benchmark can begin as a cold process."""
    _severity_rules.cache_clear()
    _bases.clear()
