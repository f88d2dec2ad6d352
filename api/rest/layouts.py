"""How are the decks of a quote laid, how are their sheets cut, and what would patches of the marked cells be?"""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any, ClassVar

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.openapi import operation
from api.rest.quotes import READERS, of_this_engine
from costbase.calc.units import round_half_up, show
from quotes.calc.boards import BoardLayout, deck_to_lay, drawn_plain
from quotes.calc.quote import Quote as Worked
from quotes.calc.sheets import PatchPlan, SheetSize
from quotes.calc.skins import LaidSkin, SkinPlan
from quotes.reports.quotes import worked_again

Row = dict[str, Any]
_UNITS = {"us": ("in", "ft2"), "metric": ("mm", "m2")}
_PLACES = 4


def _length() -> serializers.CharField:
    return serializers.CharField(help_text="In the unit of the answer.")


class CourseShape(serializers.Serializer[Any]):
    number = serializers.IntegerField()
    start = serializers.CharField(help_text="Station of a course across, offset of one along.")
    depth = _length()


class PieceShape(serializers.Serializer[Any]):
    course = serializers.IntegerField()
    station = serializers.CharField(help_text="Of its front edge, from the front of what is replaced.")
    offset = serializers.CharField(help_text="Of its driver edge, from the driver edge of the deck.")
    length = serializers.CharField(help_text="Along the coach.")
    width = serializers.CharField(help_text="Across the coach, along the arc of the deck.")
    sheet = serializers.IntegerField(help_text="Number of the sheet that it is cut from.")
    sheet_x = serializers.CharField(help_text="Its corner on the sheet, along the sheet's length.")
    sheet_y = serializers.CharField(help_text="Its corner on the sheet, along the sheet's width.")
    sheet_length = serializers.CharField(help_text="Its size along the sheet's length.")
    sheet_width = serializers.CharField(help_text="Its size along the sheet's width.")
    from_offcut = serializers.BooleanField(help_text="Cut from what another piece leaves over.")


class JointShape(serializers.Serializer[Any]):
    across = serializers.BooleanField(help_text="true: runs across the coach at one station; false: along it at one offset.")
    at = _length()
    start = _length()
    end = _length()
    ends = serializers.BooleanField(help_text="true: ends of one course meet; false: a seam between courses, or round a patch.")


class DeckShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    scope_starts_at = serializers.CharField(help_text="Station of the section at which the scope begins.")
    board = serializers.CharField(help_text="The entry of `boards` that it is cut from; empty: laid in plain courses.")
    length = serializers.CharField(help_text="Along the coach, of what is replaced: whole, or whole courses.")
    arc = serializers.CharField(help_text="Across the deck.")
    supports = serializers.ListField(child=serializers.CharField(), help_text="Stations that carry a seam; empty: anywhere.")
    direction = serializers.CharField(help_text="across or along; empty where nothing is laid.")
    courses = CourseShape(many=True)
    pieces = PieceShape(many=True)
    joints = JointShape(many=True)
    joint_length = serializers.CharField(help_text="With the joint to old board, which is not in `joints`.")


class SheetShape(serializers.Serializer[Any]):
    number = serializers.IntegerField()
    material = serializers.CharField()
    length = _length()
    width = _length()


class CutShape(serializers.Serializer[Any]):
    sheet = serializers.IntegerField()
    crosses = serializers.BooleanField(help_text="true: across the sheet's length, at a place along it; false: along it.")
    at = _length()
    start = _length()
    end = _length()


class OffcutShape(serializers.Serializer[Any]):
    sheet = serializers.IntegerField()
    x = _length()
    y = _length()
    length = _length()
    width = _length()


class BoardShape(serializers.Serializer[Any]):
    board = serializers.CharField(help_text="The material that the assemblies need; its sheets may be other sizes of it.")
    stagger = _length()
    least_piece = _length()
    sheets = SheetShape(many=True)
    cuts = CutShape(many=True, help_text="Sheet by sheet, in order; each from edge to edge of what is left.")
    offcuts = OffcutShape(many=True)
    waste_share = serializers.FloatField()
    bound_sheets = serializers.IntegerField(help_text="Sheets that the area alone would take, at the least price.")
    least_possible = serializers.BooleanField(help_text="true: no layout takes cheaper sheets; false: that is not known.")


class PatchShape(serializers.Serializer[Any]):
    station = serializers.CharField(help_text="Of its front edge, from the front of the scope on the section.")
    offset = serializers.CharField(help_text="Of its driver edge, from the driver edge of the deck.")
    length = _length()
    width = _length()


class PatchesShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    patches = PatchShape(many=True)
    joints = JointShape(many=True)
    area = serializers.CharField(help_text="In the area unit of the answer.")
    joint_length = _length()
    sheets = serializers.IntegerField(help_text="Whole sheets that they are cut from.")


class StripShape(serializers.Serializer[Any]):
    station = serializers.CharField(help_text="Of its front edge, from the front of the scope in this section.")
    offset = serializers.CharField(help_text="Of its driver edge, across the developed or visible width.")
    length = serializers.CharField(help_text="Along the coach, lap included.")
    width = serializers.CharField(help_text="Across the coach, lap included.")


class LapShape(serializers.Serializer[Any]):
    across = serializers.BooleanField(help_text="true: runs across the coach at one station; false: along it at one offset.")
    at = _length()
    start = _length()
    end = _length()


class WhyNotShape(serializers.Serializer[Any]):
    stock = serializers.CharField()
    section = serializers.CharField()
    reason = serializers.CharField()


class SkinShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    needed = serializers.CharField(help_text="The material that the assemblies need.")
    stock = serializers.CharField(help_text="The material that is bought for it: itself, or another size.")
    reason = serializers.CharField(help_text="Why this stock.")
    fits = serializers.BooleanField(help_text="false: no stock fits every section; a person has to decide.")
    direction = serializers.CharField(help_text="along or across.")
    strips = StripShape(many=True)
    laps = LapShape(many=True)
    stock_length = _length()
    lap_length = _length()
    cross_seams = serializers.IntegerField()
    why_not = WhyNotShape(many=True, help_text="Stocks that do not fit.")


class LayoutShape(serializers.Serializer[Any]):
    unit = serializers.CharField(help_text="Of every length: in or mm, as the shop measures.")
    area_unit = serializers.CharField(help_text="ft2 or m2.")
    decks = DeckShape(many=True)
    boards = BoardShape(many=True, help_text="Boards that say how they are laid; their sections are planned together.")
    skins = SkinShape(many=True, help_text="The new skin by section that gets one.")
    patches = PatchesShape(many=True, help_text="What the soft and rotten cells alone would take, by section that has any.")


class QuoteLayout(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "quote_layout",
        "How the decks are laid, their sheets cut, and damage patched",
        answers={200: LayoutShape},
        refusals=["older_engine"],
    )
    def get(self, request: Request, quote_id: int) -> Response:
        """Worked again from what the quote keeps. Stations run from the front of what is replaced in each section."""
        quote = of_this_engine(self, quote_id)
        unit, area_unit = _UNITS[self.context.shop.unit_system]
        worked = worked_again(quote).quote
        boards = worked.measured.boards
        return Response(
            {
                "unit": unit,
                "area_unit": area_unit,
                "decks": [_deck(worked, label, unit) for label in worked.measured.sections],
                "boards": [_board(layout, unit) for layout in boards.layouts],
                "skins": [_skin(plan, skin, unit) for plan in worked.measured.skins.plans for skin in plan.laid],
                "patches": [_patches(label, plan, unit, area_unit) for label, plan in boards.patches.items()],
            }
        )


def _shown(canonical: float, unit: str) -> str:
    return show(canonical, unit, _PLACES).rpartition(" ")[0]


def _row(entry: Any, unit: str) -> Row:
    """A plain value with its floats, which are all lengths, in the unit of the answer."""
    return {name: _shown(value, unit) if isinstance(value, float) else value for name, value in asdict(entry).items()}


def _rows(entries: Iterable[Any], unit: str) -> list[Row]:
    return [_row(entry, unit) for entry in entries]


def _sides(size: SheetSize, unit: str) -> Row:
    return {"length": _shown(size.length, unit), "width": _shown(size.width, unit)}


def _deck(worked: Worked, label: str, unit: str) -> Row:
    measured = worked.measured
    layout = next((one for one in measured.boards.layouts if any(deck.label == label for deck in one.decks)), None)
    section = measured.boards.sections[label]
    laid = drawn_plain(section) if layout is None else layout.plan
    deck = deck_to_lay(section)
    return {
        "section": label,
        "scope_starts_at": _shown(section.span.start, unit),
        "board": "" if layout is None else layout.material,
        "length": _shown(deck.length, unit),
        "arc": _shown(deck.arc, unit),
        "supports": [_shown(station, unit) for station in deck.supports],
        "direction": next((course.direction for course in laid.courses if course.deck == label), ""),
        "courses": _rows((course for course in laid.courses if course.deck == label), unit),
        "pieces": _rows((piece for piece in laid.pieces if piece.deck == label), unit),
        "joints": _rows((line for line in laid.joints if line.deck == label), unit),
        "joint_length": _shown(float(measured.sections[label]["deck_joint_length"]), unit),
    }


def _board(layout: BoardLayout, unit: str) -> Row:
    plan, sizes = layout.plan, {size.slug: size for size in layout.sizes}
    sheets = [{"number": number, "material": slug, **_sides(sizes[slug], unit)} for number, slug in enumerate(plan.sheets, 1)]
    return {
        "board": layout.material,
        "stagger": _shown(layout.rules.stagger, unit),
        "least_piece": _shown(layout.rules.least_piece, unit),
        "sheets": sheets,
        "cuts": _rows(plan.cuts, unit),
        "offcuts": _rows(plan.offcuts, unit),
        "waste_share": round_half_up(plan.waste_share, _PLACES),
        "bound_sheets": plan.bound.sheets,
        "least_possible": plan.least_possible,
    }


def _skin(plan: SkinPlan, skin: LaidSkin, unit: str) -> Row:
    return {
        "section": skin.section,
        "needed": plan.needed,
        "stock": plan.stock,
        "reason": plan.reason,
        "fits": skin.fits,
        "direction": skin.direction,
        "strips": [{name: value for name, value in _row(strip, unit).items() if name != "section"} for strip in skin.strips],
        "laps": [{name: value for name, value in _row(seam, unit).items() if name != "section"} for seam in skin.seams],
        "stock_length": _shown(skin.stock_length, unit),
        "lap_length": _shown(skin.lap_length, unit),
        "cross_seams": skin.cross_seams,
        "why_not": [asdict(no) for no in plan.why_not],
    }


def _patches(label: str, plan: PatchPlan, unit: str, area_unit: str) -> Row:
    return {
        "section": label,
        "patches": _rows(plan.patches, unit),
        "joints": _rows(plan.joints, unit),
        "area": _shown(plan.area, area_unit),
        "joint_length": _shown(plan.joint_length, unit),
        "sheets": plan.sheets,
    }
