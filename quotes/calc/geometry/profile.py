"""How wide is the skin, and how wide the deck, across one section?

Across the coach the skin is one crown arc between two rolled edges and two flat tails in the gutter rails;
the deck lies under the crown arc alone.
"""

import math
from dataclasses import dataclass

from quotes.calc.geometry.roof import Section

# A flat crown has no radius. A hundred kilometres stands for it, a finite number that every store and formula
# can carry: the arc over the widest coach is then within a millionth of a hair's breadth of its chord.
FLAT_RADIUS = 1e9


@dataclass(frozen=True, slots=True)
class Profile:
    """The cross-section of a roof section; all canonical lengths."""

    chord: float
    crown_radius: float
    crown_arc: float
    edge_arc: float
    visible_width: float
    developed_width: float


def profile(section: Section) -> Profile:
    """The cross-section of a checked section, whatever its kind.

    visible = crown arc + 2 edge arcs; developed = visible + 2 tucks. The edges are taken as starting level at
    the ends of the chord, though the crown slopes a little there: on a 96 in body with 1.5 in of crown and 4
    in edges the visible width comes out 0.0009 in under the exact tangent form, far below what a tape reads.

    Source: arc and chord of a circle, any handbook; the simple edge is common practice, none published.
    """
    chord = section.body_width - 2.0 * section.edge_radius
    arc = crown_arc(chord, section.crown_rise)
    edge = section.edge_radius * math.radians(section.edge_sweep)
    visible = arc + 2.0 * edge
    return Profile(
        chord=chord,
        crown_radius=crown_radius(chord, section.crown_rise),
        crown_arc=arc,
        edge_arc=edge,
        visible_width=visible,
        developed_width=visible + 2.0 * section.tuck,
    )


def crown_radius(chord: float, rise: float) -> float:
    """Radius of the crown, chord^2 / (8 rise) + rise / 2; `FLAT_RADIUS` for a flat crown.

    Args:
        chord: between the ends of the arc, above 0.
        rise: of the arc over the chord, 0 to half the chord.

    Source: arc and chord of a circle, any handbook.
    """
    if rise <= chord * chord / (8.0 * FLAT_RADIUS):
        return FLAT_RADIUS
    return chord * chord / (8.0 * rise) + rise / 2.0


def crown_arc(chord: float, rise: float) -> float:
    """Length of the crown along the arc, 2 R asin(chord / 2R); a flat crown is as long as its chord.

    Args:
        chord: between the ends of the arc, above 0.
        rise: of the arc over the chord, 0 to half the chord.

    Source: arc and chord of a circle, any handbook.
    """
    # The same arc from its half angle, 2 atan(2 rise / chord): the textbook form loses digits as R grows or
    # nears chord / 2.
    slope = 2.0 * rise / chord
    if slope == 0.0:
        return chord
    return chord * (1.0 + slope * slope) * (math.atan(slope) / slope)
