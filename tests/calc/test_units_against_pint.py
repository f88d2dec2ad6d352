"""The table of units held against an independent library and against the tables of NIST."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.units import BY_SYMBOL, LENGTH, UNITS, Dimension, in_unit, parse

# The library's own names; it calculates with exact fractions here.
NAMES = {
    "inch": "inch", "foot": "foot", "yard": "yard", "metre": "meter", "centimetre": "centimeter",
    "millimetre": "millimeter", "thou": "thou", "square_inch": "inch**2", "square_foot": "foot**2",
    "square_yard": "yard**2", "square_metre": "meter**2", "cubic_inch": "inch**3",
    "cubic_foot": "foot**3", "cubic_yard": "yard**3", "gallon": "gallon", "quart": "quart",
    "fluid_ounce": "fluid_ounce", "litre": "liter", "millilitre": "milliliter",
    "board_foot": "board_foot", "pound": "pound", "ounce": "ounce", "kilogram": "kilogram",
    "gram": "gram", "ton": "short_ton", "tonne": "metric_ton", "second": "second", "minute": "minute",
    "hour": "hour", "day": "day", "degree": "degree", "pound_per_square_foot": "pound/foot**2",
    "kilogram_per_square_metre": "kilogram/meter**2", "each": "dimensionless", "share": "dimensionless",
}  # fmt: skip


FLOATS: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.fixture(scope="module")
def library() -> pint.UnitRegistry[Fraction]:
    return pint.UnitRegistry(non_int_type=Fraction)


def canonical_name(dimension: Dimension) -> tuple[str, Fraction]:
    """What the library calls a product of base units, and how many of our canonical units that is."""
    # 0.1 mm, 10 ug, 1 s and 1 degree are canonical: 10 in a millimetre, 100000 in a gram.
    name = f"millimeter**{dimension.length} * gram**{dimension.mass} * second**{dimension.time} * degree**{dimension.angle}"
    return name, Fraction(10) ** dimension.length * Fraction(100_000) ** dimension.mass


def test_every_unit_has_a_name_there() -> None:
    assert set(NAMES) == set(UNITS)


@pytest.mark.parametrize("slug", sorted(UNITS))
def test_every_factor_equals_the_librarys_to_the_last_digit(slug: str, library: pint.UnitRegistry[Fraction]) -> None:
    unit = UNITS[slug]
    name, canonical = canonical_name(unit.dimension)
    theirs = library.Quantity(Fraction(1), NAMES[slug]).to(name)
    assert isinstance(theirs.magnitude, (Fraction, int))
    assert theirs.magnitude * canonical == unit.factor


pairs = [(a, b) for a in BY_SYMBOL for b in BY_SYMBOL if BY_SYMBOL[a].dimension == BY_SYMBOL[b].dimension]


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(pairs), st.integers(1, 10**9))
def test_conversions_agree_with_the_library(pair: tuple[str, str], thousandths: int) -> None:
    came, goes = BY_SYMBOL[pair[0]], BY_SYMBOL[pair[1]]
    value = Fraction(thousandths, 1000)
    theirs = FLOATS.Quantity(float(value), NAMES[came.slug]).to(NAMES[goes.slug]).magnitude
    read = parse(f"{thousandths // 1000}.{thousandths % 1000:03d} {came.symbol}", came.dimension)
    assert in_unit(read.canonical, goes.symbol) == pytest.approx(theirs, rel=1e-12)


def test_a_mil_is_an_angle_to_the_library_and_no_unit_here(library: pint.UnitRegistry[Fraction]) -> None:
    assert library.Quantity(1.0, "mil").check("[]")  # an angle has no dimension there
    assert not library.Quantity(1.0, "mil").check("[length]")
    assert library.Quantity(1.0, "thou").check("[length]")
    assert "mil" not in BY_SYMBOL


@pytest.mark.parametrize(
    ("text", "misread_inches", "inches"),
    [("8 1/2 in", 4.0, 8.5), ("6 1/4 in", 1.5, 6.25)],
)
def test_the_librarys_own_parser_is_not_fit_for_workshop_text(text: str, misread_inches: float, inches: float) -> None:
    # It multiplies what stands side by side: 8 x 1/2. That is why text from outside never reaches it.
    assert FLOATS.parse_expression(text).to("inch").magnitude == misread_inches
    assert in_unit(parse(text, LENGTH).canonical, "in") == inches


# Source: NIST Special Publication 811 (2008), appendix B.8, factors to SI units to seven digits; those in
# bold there are exact. Volumes, times and pound per square foot were read in secondary copies, the rest is
# from memory. SI units are metre, square metre, cubic metre, kilogram, second, kilogram per square metre.
NIST_811 = [
    ("inch", "2.54E-02", True),
    ("foot", "3.048E-01", True),
    ("yard", "9.144E-01", True),
    ("thou", "2.54E-05", True),  # listed there as mil (0.001 in)
    ("square_inch", "6.4516E-04", True),
    ("square_foot", "9.290304E-02", True),
    ("square_yard", "8.361274E-01", False),
    ("cubic_inch", "1.638706E-05", False),
    ("cubic_foot", "2.831685E-02", False),
    ("cubic_yard", "7.645549E-01", False),
    ("gallon", "3.785412E-03", False),
    ("quart", "9.463529E-04", False),
    ("fluid_ounce", "2.957353E-05", False),
    ("litre", "1.0E-03", True),
    ("pound", "4.535924E-01", False),
    ("ounce", "2.834952E-02", False),
    ("ton", "9.071847E+02", False),
    ("tonne", "1.0E+03", True),
    ("minute", "6.0E+01", True),
    ("hour", "3.6E+03", True),
    ("day", "8.64E+04", True),
    ("pound_per_square_foot", "4.882428E+00", False),
]


@pytest.mark.parametrize(("slug", "published", "is_exact"), NIST_811)
def test_every_factor_agrees_with_special_publication_811(slug: str, published: str, is_exact: bool) -> None:
    unit = UNITS[slug]
    # A metre is 10^4 of 0.1 mm, a kilogram 10^8 of 10 ug.
    si = unit.factor / (Fraction(10) ** (4 * unit.dimension.length + 8 * unit.dimension.mass))
    half_of_the_last_digit = 0 if is_exact else Fraction(f"0.0000005E{published.split('E')[1]}")
    assert abs(si - Fraction(published)) <= half_of_the_last_digit


# Source: NIST Handbook 44, appendix C, sections 2 and 4, relations marked as exact (read in secondary
# copies). The board foot is common practice in the sale of timber; the Handbook does not list it.
NIST_44 = [
    ("foot", 12, "inch"),
    ("yard", 3, "foot"),
    ("inch", Fraction("2.54"), "centimetre"),
    ("inch", 1000, "thou"),
    ("square_foot", 144, "square_inch"),
    ("square_yard", 9, "square_foot"),
    ("cubic_foot", 1728, "cubic_inch"),
    ("cubic_yard", 27, "cubic_foot"),
    ("gallon", 231, "cubic_inch"),
    ("gallon", Fraction("3.785411784"), "litre"),
    ("gallon", 4, "quart"),
    ("gallon", 128, "fluid_ounce"),
    ("fluid_ounce", Fraction(231, 128), "cubic_inch"),
    ("pound", 16, "ounce"),
    ("pound", Fraction("453.59237"), "gram"),
    ("ton", 2000, "pound"),
    ("tonne", 1000, "kilogram"),
    ("litre", 1000, "millilitre"),
    ("metre", 100, "centimetre"),
    ("centimetre", 10, "millimetre"),
    ("board_foot", 144, "cubic_inch"),
]


@pytest.mark.parametrize(("larger", "count", "smaller"), NIST_44)
def test_every_exact_relation_of_handbook_44_holds(larger: str, count: Fraction | int, smaller: str) -> None:
    assert UNITS[larger].factor == count * UNITS[smaller].factor


def test_every_unit_with_a_dimension_is_held_against_nist() -> None:
    held = {slug for slug, _, _ in NIST_811} | {name for larger, _, smaller in NIST_44 for name in (larger, smaller)}
    # Products of units that are held: a square metre of metres, and pounds or kilograms over areas. A second
    # and a degree are canonical themselves.
    assert set(UNITS) - held == {
        "square_metre",
        "kilogram_per_square_metre",
        "second",
        "degree",
        "each",
        "share",
    }
    assert UNITS["square_metre"].factor == UNITS["metre"].factor ** 2
    assert UNITS["kilogram_per_square_metre"].factor == UNITS["kilogram"].factor / UNITS["metre"].factor ** 2
