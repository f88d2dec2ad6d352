"""A survey read by walking the roof inch by inch: the slow, obvious way to shares and scales.

Works for one section whose length and span are whole inches. Every inch of every lane is looked up by itself.
"""

from dataclasses import dataclass

WEIGHT = {"sound": 0.0, "damp": 0.25, "soft": 0.6, "rotten": 1.0}
LEFT = {"walked": 0.7, "metered": 0.4, "opened": 0.0}
LANES = "ABCD"


@dataclass
class Walked:
    checked: float
    sound: float
    weighted: float
    wet: float
    replaced: float
    cells: float
    kept_cells: float


def walk(marks: dict[tuple[int, str], tuple[str, str]], start: int, end: int) -> Walked:
    """Shares over the inches from start to end; `marks` gives condition and method of (row from 1, lane)."""
    seen = [(inch, marks.get((inch // 24 + 1, lane))) for inch in range(start, end) for lane in LANES]
    bad_courses = {inch // 48 for inch, mark in seen if mark and mark[0] in ("soft", "rotten")}
    looked = [mark[0] for _, mark in seen if mark]
    good = [condition for condition in looked if condition == "sound"]
    left = [(inch, LEFT[mark[1]] if mark and mark[0] == "sound" else 1.0) for inch, mark in seen]
    kept = [share for inch, share in left if inch // 48 not in bad_courses]
    return Walked(
        checked=len(looked) / len(seen),
        sound=len(good) / len(seen),
        weighted=sum(WEIGHT[condition] for condition in looked) / len(looked) if looked else 0.0,
        wet=(len(looked) - len(good)) / len(looked) if looked else 0.0,
        replaced=sum(inch // 48 in bad_courses for inch in range(start, end)) / (end - start),
        cells=sum(share for _, share in left) / len(left),
        kept_cells=sum(kept) / len(kept) if kept else 1.0,
    )
