"""Cross-sections of a roof the slow, obvious way: textbook forms and thousands of straight pieces."""

import math


def textbook_arc(chord: float, rise: float) -> float:
    """Arc over a chord: R = c^2 / 8h + h / 2, s = 2 R asin(c / 2R); the chord itself for no rise."""
    if rise == 0.0:
        return chord
    radius = chord**2 / (8 * rise) + rise / 2
    return 2 * radius * math.asin(min(1.0, chord / (2 * radius)))


def crown_points(chord: float, rise: float, pieces: int) -> list[tuple[float, float]]:
    """Points on the circle through both ends of the chord and its top, evenly by angle."""
    radius = chord**2 / (8 * rise) + rise / 2
    half = 2 * math.atan2(2 * rise, chord)
    angles = [-half + 2 * half * step / pieces for step in range(pieces + 1)]
    return [(radius * math.sin(angle), radius * (math.cos(angle) - 1)) for angle in angles]


def tangent_visible_width(body_width: float, radius: float, rise: float) -> float:
    """Visible width where each edge arc leaves the crown without a kink, both circles touching inside.

    The crown's radius is that of the simple form. phi = asin((W/2 - r) / (R - r)); 2 R phi + 2 r (pi/2 -
    phi).
    """
    chord = body_width - 2 * radius
    crown = chord**2 / (8 * rise) + rise / 2
    phi = math.asin((body_width / 2 - radius) / (crown - radius))
    return 2 * crown * phi + 2 * radius * (math.pi / 2 - phi)
