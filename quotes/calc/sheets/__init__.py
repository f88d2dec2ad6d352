"""Which boards does a deck take, how are they cut, and how long are the joints between them?

`courses.py` counts a deck laid in plain courses across the coach; `planner.py` lays it piece by piece where the board says a
stagger or a least piece; `patches.py` covers marked cells.
"""

from quotes.calc.sheets.courses import (
    DECK_SHEET,
    FOOT,
    Layout,
    Piece,
    Sheet,
    explain_layout,
    lay_deck,
    lay_piece,
    waste_share,
)
from quotes.calc.sheets.decks import Deck, LayingRules, LayoutError, SheetSize
from quotes.calc.sheets.patches import Damage, Patch, PatchPlan, cover_damage
from quotes.calc.sheets.plain import PlainLayout, plain_layout
from quotes.calc.sheets.plan import AreaBound, Course, Cut, JointLine, Offcut, PlacedPiece, SheetPlan
from quotes.calc.sheets.planner import plan_sheets

__all__ = [
    "DECK_SHEET",
    "FOOT",
    "AreaBound",
    "Course",
    "Cut",
    "Damage",
    "Deck",
    "JointLine",
    "LayingRules",
    "Layout",
    "LayoutError",
    "Offcut",
    "Patch",
    "PatchPlan",
    "Piece",
    "PlacedPiece",
    "PlainLayout",
    "Sheet",
    "SheetPlan",
    "SheetSize",
    "cover_damage",
    "explain_layout",
    "lay_deck",
    "lay_piece",
    "plain_layout",
    "plan_sheets",
    "waste_share",
]
