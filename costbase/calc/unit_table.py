"""Which units are there, what do they measure, and how many canonical units is each?

The canonical units are 0.1 mm for lengths (so areas are in 0.01 mm2 and volumes in 0.001 mm3), 10 ug for
masses, 1 s for times and 1 degree for angles. They are chosen so that inches, feet, metres and pounds are
whole numbers: an inch is 254, a foot 3048, a metre 10000, a pound 45359237. Exact cases then stay exact in
a float.

The foot is the international one. Source: NIST Special Publication 811 (2008), appendix B, and NIST
Handbook 44, appendix C; the tests hold each factor against both and against an independent units library.
"""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Dimension:
    """What is measured: exponents of length, mass, time and angle. An area is ``Dimension(length=2)``."""

    length: int = 0
    mass: int = 0
    time: int = 0
    angle: int = 0

    def __mul__(self, other: "Dimension") -> "Dimension":
        return Dimension(
            length=self.length + other.length,
            mass=self.mass + other.mass,
            time=self.time + other.time,
            angle=self.angle + other.angle,
        )

    def __truediv__(self, other: "Dimension") -> "Dimension":
        return self * other**-1

    def __pow__(self, power: int) -> "Dimension":
        return Dimension(self.length * power, self.mass * power, self.time * power, self.angle * power)

    def name(self) -> str:
        """The dimension as a person says it: "length", "area", "time per length", "plain number"."""
        if self in _NAMES:
            return _NAMES[self]
        parts = (("mass", self.mass), ("length", self.length), ("angle", self.angle), ("time", self.time))
        above = " x ".join(_power_name(word, power) for word, power in parts if power > 0)
        below = " and ".join(_power_name(word, -power) for word, power in parts if power < 0)
        return f"{above or 'number'} per {below}" if below else above


def _power_name(word: str, power: int) -> str:
    if word == "length" and power <= 3:
        return _NAMES[LENGTH**power]
    return word if power == 1 else f"{word}^{power}"


NONE = Dimension()
LENGTH = Dimension(length=1)
AREA = Dimension(length=2)
VOLUME = Dimension(length=3)
MASS = Dimension(mass=1)
TIME = Dimension(time=1)
ANGLE = Dimension(angle=1)
AREAL_MASS = Dimension(length=-2, mass=1)
_NAMES = {
    NONE: "plain number",
    LENGTH: "length",
    AREA: "area",
    VOLUME: "volume",
    MASS: "mass",
    TIME: "time",
    ANGLE: "angle",
    AREAL_MASS: "mass per area",
}


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of the table.

    Attributes:
        slug: its name in formulas, such as ``square_foot``.
        symbol: how a quantity in it is written, such as ``ft2``.
        dimension: what it measures.
        factor: canonical units in one of it, exact.
    """

    slug: str
    symbol: str
    dimension: Dimension
    factor: Fraction


UNITS: dict[str, Unit] = {
    unit.slug: unit
    for unit in (
        Unit("inch", "in", LENGTH, Fraction(254)),
        Unit("foot", "ft", LENGTH, Fraction(3_048)),
        Unit("yard", "yd", LENGTH, Fraction(9_144)),
        Unit("metre", "m", LENGTH, Fraction(10_000)),
        Unit("centimetre", "cm", LENGTH, Fraction(100)),
        Unit("millimetre", "mm", LENGTH, Fraction(10)),
        # A thousandth of an inch. Not mil: an angle to units libraries, a millimetre to many people.
        Unit("thou", "thou", LENGTH, Fraction(127, 500)),
        Unit("square_inch", "in2", AREA, Fraction(64_516)),
        Unit("square_foot", "ft2", AREA, Fraction(9_290_304)),
        Unit("square_yard", "yd2", AREA, Fraction(83_612_736)),
        Unit("square_metre", "m2", AREA, Fraction(100_000_000)),
        Unit("cubic_inch", "in3", VOLUME, Fraction(16_387_064)),
        Unit("cubic_foot", "ft3", VOLUME, Fraction(28_316_846_592)),
        Unit("cubic_yard", "yd3", VOLUME, Fraction(764_554_857_984)),
        # The gallon of the United States, 231 in3; quart and fluid ounce are its fourth and its 128th part.
        Unit("gallon", "gal", VOLUME, Fraction(3_785_411_784)),
        Unit("quart", "qt", VOLUME, Fraction(946_352_946)),
        Unit("fluid_ounce", "fl_oz", VOLUME, Fraction(473_176_473, 16)),
        Unit("litre", "L", VOLUME, Fraction(1_000_000_000)),
        Unit("millilitre", "mL", VOLUME, Fraction(1_000_000)),
        # A foot by a foot by an inch of sawn timber, 144 in3.
        Unit("board_foot", "bd_ft", VOLUME, Fraction(2_359_737_216)),
        Unit("pound", "lb", MASS, Fraction(45_359_237)),
        Unit("ounce", "oz", MASS, Fraction(45_359_237, 16)),
        Unit("kilogram", "kg", MASS, Fraction(100_000_000)),
        Unit("gram", "g", MASS, Fraction(100_000)),
        # The short ton of 2,000 pounds, by which tips in the United States charge.
        Unit("ton", "ton", MASS, Fraction(90_718_474_000)),
        Unit("tonne", "t", MASS, Fraction(100_000_000_000)),
        Unit("second", "s", TIME, Fraction(1)),
        Unit("minute", "min", TIME, Fraction(60)),
        Unit("hour", "h", TIME, Fraction(3_600)),
        # Twenty-four hours of waiting (cure, drying), not a working day.
        Unit("day", "day", TIME, Fraction(86_400)),
        Unit("degree", "deg", ANGLE, Fraction(1)),
        Unit("pound_per_square_foot", "lb/ft2", AREAL_MASS, Fraction(45_359_237, 9_290_304)),
        Unit("kilogram_per_square_metre", "kg/m2", AREAL_MASS, Fraction(1)),
        Unit("each", "each", NONE, Fraction(1)),
        Unit("share", "share", NONE, Fraction(1)),
    )
}
BY_SYMBOL: dict[str, Unit] = {unit.symbol: unit for unit in UNITS.values()}

_SPELLINGS = """
inch: inch, inches, ", ''
foot: foot, feet, '
yard: yard, yards, yds
metre: metre, metres, meter, meters
centimetre: centimetre, centimetres, centimeter, centimeters
millimetre: millimetre, millimetres, millimeter, millimeters
square_inch: sq in, square inch, square inches, in^2, in²
square_foot: sq ft, square foot, square feet, ft^2, ft²
square_yard: sq yd, square yard, square yards, yd^2, yd²
square_metre: sq m, square metre, square metres, square meter, square meters, m^2, m²
cubic_inch: cu in, cubic inch, cubic inches, in^3, in³
cubic_foot: cu ft, cubic foot, cubic feet, ft^3, ft³
cubic_yard: cu yd, cubic yard, cubic yards, yd^3, yd³
gallon: gallon, gallons, gals
quart: quart, quarts, qts
fluid_ounce: fl oz, fluid ounce, fluid ounces
litre: l, litre, litres, liter, liters
millilitre: ml, millilitre, millilitres, milliliter, milliliters
board_foot: bd ft, board foot, board feet
pound: lbs, pound, pounds
ounce: ounce, ounces
kilogram: kilogram, kilograms, kgs
gram: gram, grams
ton: tons, short ton, short tons
tonne: tonne, tonnes
second: second, seconds, sec, secs
minute: minute, minutes, mins
hour: hour, hours, hr, hrs
day: days
degree: degree, degrees, °
pound_per_square_foot: lb/sq ft, lb/ft^2, lb/ft²
kilogram_per_square_metre: kg/sq m, kg/m^2, kg/m²
"""
_BY_SPELLING: dict[str, Unit] = {
    spelling: UNITS[slug]
    for slug, spellings in (line.split(": ") for line in _SPELLINGS.strip().splitlines())
    for spelling in spellings.split(", ")
}


def unit_written(written: str) -> Unit | None:
    """The unit that a person wrote: a symbol, or another spelling in any case; None where there is none."""
    # A single letter keeps its case: M is a thousand or a million to some people, never a metre.
    folded = written.lower() if len(written) > 1 else written
    return BY_SYMBOL.get(written) or BY_SYMBOL.get(folded) or _BY_SPELLING.get(folded)
