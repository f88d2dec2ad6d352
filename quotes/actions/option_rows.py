"""How is kept what ticking an offered option changes? As JSON beside the totals, amounts as texts."""

from dataclasses import asdict
from typing import Any

from quotes.calc.options import Offered, Ticked, ticked_amounts

Row = dict[str, Any]


def offered_json(offered: Offered) -> Row:
    """What ticking each offered option changes, and all of them; null where none is offered."""
    return {
        "options": [_ticked(ticked) for ticked in offered.each],
        "together": _ticked(offered.together) if offered.together else None,
    }


def _ticked(ticked: Ticked) -> Row:
    return {
        "options": list(ticked.options),
        "name": ticked.name,
        **{name: str(value) for name, value in ticked_amounts(ticked).items()},
        "days": {"low": float(ticked.low), "high": float(ticked.high)},
        "lines": [{name: str(value) for name, value in asdict(line).items()} for line in ticked.lines],
        "cautions": list(ticked.cautions),
        "warnings": list(ticked.warnings),
    }
