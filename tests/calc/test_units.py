"""Sizes as they are written in a workshop: what is read and what is refused."""

import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from costbase.calc.units import (
    ANGLE,
    AREA,
    AREAL_MASS,
    BY_SYMBOL,
    LENGTH,
    LONGEST_TEXT,
    MASS,
    NONE,
    TIME,
    UNITS,
    VOLUME,
    Dimension,
    Quantity,
    UnitError,
    UnknownUnitError,
    WrongDimensionError,
    from_value,
    in_unit,
    parse,
)

quick = settings(max_examples=150, deadline=None)


# Lengths in 0.1 mm: an inch is 254, a foot 3048, a metre 10000.
@pytest.mark.parametrize(
    ("text", "canonical", "entered"),
    [
        ("33' 6\"", 102_108.0, "33 ft 6 in"),  # 33 x 3048 + 6 x 254 = 100584 + 1524
        ("33 ft 6 in", 102_108.0, "33 ft 6 in"),
        ("33′ 6″", 102_108.0, "33 ft 6 in"),
        ("33’ 6”", 102_108.0, "33 ft 6 in"),
        ("33'6\"", 102_108.0, "33 ft 6 in"),
        ("33'-6\"", 102_108.0, "33 ft 6 in"),
        ("33' 6''", 102_108.0, "33 ft 6 in"),
        ("33 feet 6 inches", 102_108.0, "33 ft 6 in"),
        ("33 Ft. 6 In.", 102_108.0, "33 ft 6 in"),
        ("33' 0\"", 100_584.0, "33 ft 0 in"),
        ("33' 6-1/2\"", 102_235.0, "33 ft 6 1/2 in"),  # half an inch, 127, more
        ("33′ 6½″", 102_235.0, "33 ft 6 1/2 in"),
        ("33 ft ½ in", 100_711.0, "33 ft 1/2 in"),
        ("33' 11.9\"", 103_606.6, "33 ft 11.9 in"),  # 100584 + 3022.6
        ("33 1/2 ft", 102_108.0, "33 1/2 ft"),
        ("33.5 ft", 102_108.0, "33.5 ft"),
        ("33'", 100_584.0, "33 ft"),
        ('402"', 102_108.0, "402 in"),  # 402 x 254
        ("8-1/2 in", 2_159.0, "8 1/2 in"),  # 8.5 x 254
        ("8–1/2 in", 2_159.0, "8 1/2 in"),
        ("6 1/2 in", 1_651.0, "6 1/2 in"),  # 6.5 x 254
        ("6½ in", 1_651.0, "6 1/2 in"),
        ("6 ½ in", 1_651.0, "6 1/2 in"),
        ("½ in", 127.0, "1/2 in"),
        ("1⁄2 in", 127.0, "1/2 in"),
        ("3/8 in", 95.25, "3/8 in"),
        ("1/3 ft", 1_016.0, "1/3 ft"),  # four inches
        ("⅔ yd", 6_096.0, "2/3 yd"),  # two feet
        ("10.2 m", 102_000.0, "10.2 m"),
        ("10.20 m", 102_000.0, "10.20 m"),
        ("010.2 m", 102_000.0, "10.2 m"),
        ("10.2\u00a0m", 102_000.0, "10.2 m"),
        ("  10.2   m  ", 102_000.0, "10.2 m"),
        ("10.2m", 102_000.0, "10.2 m"),
        ("2590 mm", 25_900.0, "2590 mm"),
        ("259 cm", 25_900.0, "259 cm"),
        ("45 thou", 11.43, "45 thou"),  # 0.045 in x 254
        ("0 in", 0.0, "0 in"),
    ],
)
def test_lengths_are_read_as_people_write_them(text: str, canonical: float, entered: str) -> None:
    assert parse(text, LENGTH) == Quantity(entered, canonical, LENGTH)


@pytest.mark.parametrize(
    ("text", "dimension", "canonical", "entered"),
    [
        ("96 ft2", AREA, 891_869_184.0, "96 ft2"),  # 96 x 3048 x 3048
        ("96 sq ft", AREA, 891_869_184.0, "96 ft2"),
        ("96 sq. ft.", AREA, 891_869_184.0, "96 ft2"),
        ("96 square feet", AREA, 891_869_184.0, "96 ft2"),
        ("96 ft²", AREA, 891_869_184.0, "96 ft2"),
        ("96 ft^2", AREA, 891_869_184.0, "96 ft2"),
        ("2 m2", AREA, 200_000_000.0, "2 m2"),
        ("2½ gal", VOLUME, 9_463_529_460.0, "2 1/2 gal"),  # 2.5 x 231 x 254 x 254 x 254
        ("128 fl. oz.", VOLUME, 3_785_411_784.0, "128 fl_oz"),  # a gallon
        ("310 mL", VOLUME, 310_000_000.0, "310 mL"),  # a mL is a cubic centimetre, 100 x 100 x 100
        ("310 ML", VOLUME, 310_000_000.0, "310 mL"),
        ("2 l", VOLUME, 2_000_000_000.0, "2 L"),
        ("12 board feet", VOLUME, 28_316_846_592.0, "12 bd_ft"),  # a cubic foot
        ("100 lbs", MASS, 4_535_923_700.0, "100 lb"),
        ("16 oz", MASS, 45_359_237.0, "16 oz"),
        ("2 short tons", MASS, 181_436_948_000.0, "2 ton"),
        ("38.6 KG", MASS, 3_860_000_000.0, "38.6 kg"),
        ("2.5 hrs", TIME, 9_000.0, "2.5 h"),
        ("2 days", TIME, 172_800.0, "2 day"),
        ("90°", ANGLE, 90.0, "90 deg"),
        # 1.25 x 0.45359237 kg / 0.09290304 m2, and 1 kg/m2 is 1.
        ("1.25 lb/sq ft", AREAL_MASS, 6.103_034_545_478_813, "1.25 lb/ft2"),
        ("7.3 kg/m2", AREAL_MASS, 7.3, "7.3 kg/m2"),
        ("3 each", NONE, 3.0, "3 each"),
        ("0.25 share", NONE, 0.25, "0.25 share"),
    ],
)
def test_other_quantities_are_one_number_and_one_unit(text: str, dimension: Dimension, canonical: float, entered: str) -> None:
    assert parse(text, dimension) == Quantity(entered, canonical, dimension)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "it is empty"),
        ("   ", "it is empty"),
        ("33", "the unit is missing"),
        ("33.5", "the unit is missing"),
        ("6 1/2", "the unit is missing"),
        ("½", "the unit is missing"),
        ("33' 6", "the inches need their mark"),
        ("33 ft 6 1/2", "the inches need their mark"),
        ("-3 ft", "no minus sign"),
        ("−3 ft", "no minus sign"),
        ("–3 ft", "no minus sign"),
        ("33 ft -6 in", "no minus sign"),
        ("33' - 6\"", "no minus sign"),
        ("10,2 m", "write a point for decimals"),
        ("1,000 ft", "write a point for decimals"),
        ("1e3 ft", "no exponent"),
        ("1e400 ft", "no exponent"),
        ("1.5E-3 m", "no exponent"),
        ("33 ft 1e1 in", "no exponent"),
        ("33' 12\"", "below 12"),
        ("33' 11 24/24\"", "below one"),
        ("33 ft 13 in", "below 12"),
        ("33.5 ft 6 in", "only whole feet"),
        ("6 5/4 in", "below one"),
        ("6 4/4 in", "below one"),
        ("1/0 in", "divided by zero"),
        ("6 1/0 in", "divided by zero"),
        ("3 ft\x00", "control character"),
        ("\x003 ft", "control character"),
        ("3\tft", "control character"),
        ("3 ft\n", "control character"),
        ("٣ ft", "digits must be 0 to 9"),
        ("３ ft", "digits must be 0 to 9"),
        ("3۵ ft", "digits must be 0 to 9"),
        (".5 in", "as in 0.5"),
        ("5. in", "not one number with one unit"),
        ("+5 in", "not one number with one unit"),
        ("5² in", "not one number with one unit"),
        ("1½2 in", "not one number with one unit"),
        ("1½½ in", "not one number with one unit"),
        ("6.5 1/2 in", "not one number with one unit"),
        ("1/2/3 in", "not one number with one unit"),
        ("1 ft 2 ft", "not one number with one unit"),
        ("6\" 33'", "not one number with one unit"),
        ("3 ft2 in", "unknown unit"),
        ("33 ft 6 in 2 in", "not one number with one unit"),
        ("9**9**9 ft", "not one number with one unit"),
        ("2**2**30 ft", "not one number with one unit"),
        ("8.5 gal/100 ft", "not one number with one unit"),
        ("33 ft 6 incheſ", "not one number with one unit"),  # a long s, which ignoring case can take for an s
        ("NaN ft", "not one number with one unit"),
        ("inf ft", "not one number with one unit"),
        ("Infinity ft", "not one number with one unit"),
        ("ft", "not one number with one unit"),
        ("33 ft + 6 in", "not one number with one unit"),
        ("0x10 ft", "not one number with one unit"),
        ("1_000 ft", "not one number with one unit"),
        ("3 cubits", "unknown unit"),
        ("3 M", "unknown unit"),
        ("3 IN3", "measures volume"),
        ("45 mil", "write thou"),
        ("1000000000 in", "at most nine digits before the point"),
        ("1" * 38 + " m", "at most nine digits before the point"),
        ("0." + "1" * 21 + " m", "twenty after it"),
    ],
)
def test_what_cannot_be_read_for_certain_is_refused_with_the_reason_and_an_example(text: str, why: str) -> None:
    with pytest.raises(UnitError) as refusal:
        parse(text, LENGTH, field="sections/0/length")
    assert why in refusal.value.message
    assert "a length such as 33' 6\", 33 ft 6 in, 8-1/2 in or 10.2 m" in refusal.value.message
    assert refusal.value.field == "sections/0/length"
    assert refusal.value.value == text


def test_text_of_forty_characters_is_read_and_of_forty_one_refused() -> None:
    assert parse("33 ft".ljust(LONGEST_TEXT), LENGTH).canonical == 100_584.0
    with pytest.raises(UnitError, match="longer than 40 characters"):
        parse("33 ft".ljust(LONGEST_TEXT + 1), LENGTH)


def test_an_endless_text_is_refused_without_being_repeated_in_the_message() -> None:
    with pytest.raises(UnitError) as refusal:
        parse("9" * 1_000_000 + " ft", LENGTH)
    assert len(refusal.value.message) < 300


@pytest.mark.parametrize("not_text", [33, 33.5, None, True, ["33 ft"], {"value": "33", "unit": "ft"}, b"33 ft"])
def test_what_is_no_text_is_refused(not_text: object) -> None:
    with pytest.raises(UnitError, match="it must be text"):
        parse(not_text, LENGTH)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        ("33 ft", AREA, "expected an area such as 96 ft2 or 8.9 m2, not '33 ft': ft measures length"),
        ("33' 6\"", AREA, "ft measures length"),
        ("96 ft2", LENGTH, "ft2 measures area"),
        (
            "10.1 oz",
            VOLUME,
            "expected a volume such as 2 gal, 10.1 fl_oz or 310 mL, not '10.1 oz': oz measures mass",
        ),
        ("3 each", TIME, "each measures plain number"),
        ("3 in", ANGLE, "expected an angle such as 90 deg"),
        ("3 in", NONE, "expected a plain number such as 3 each"),
    ],
)
def test_a_quantity_of_another_kind_is_refused(text: str, dimension: Dimension, message: str) -> None:
    with pytest.raises(WrongDimensionError) as refusal:
        parse(text, dimension)
    assert message in refusal.value.message
    assert refusal.value.code == "wrong_dimension"


def test_refusals_have_stable_codes() -> None:
    for text, code in (("33", "bad_quantity"), ("33 cubits", "unknown_unit"), ("33 lb", "wrong_dimension")):
        with pytest.raises(UnitError) as refusal:
            parse(text, LENGTH)
        assert refusal.value.code == code


def test_a_value_and_a_unit_make_a_quantity() -> None:
    assert from_value("10.2", "m", LENGTH) == Quantity("10.2 m", 102_000.0, LENGTH)
    assert from_value("0033.50", "ft", LENGTH) == Quantity("33.50 ft", 102_108.0, LENGTH)
    assert from_value("0", "in", LENGTH) == Quantity("0 in", 0.0, LENGTH)
    assert from_value("96", "ft2", AREA) == Quantity("96 ft2", 891_869_184.0, AREA)
    # Seventeen digits, as programs print a float: 10.199999999999999 m is 101999.99999999999 of 0.1 mm.
    assert from_value("10.199999999999999", "m", LENGTH).canonical == 101_999.999_999_999_99


@pytest.mark.parametrize(
    "value",
    ["", " 10.2", "10.2 ", "+10.2", "-10.2", "1e3", "10,2", "1/2", "½", ".5", "5.", "NaN", "Infinity", "10.2\n",
     "٣", "1_0", "0x1", "10.2 m", "1" * 10, "9**9", "\x00", "1." + "0" * 39],
)  # fmt: skip
def test_a_value_is_a_plain_decimal_only(value: str) -> None:
    with pytest.raises(UnitError) as refusal:
        from_value(value, "m", LENGTH, field="roof_length")
    assert (refusal.value.field, refusal.value.code) == ("roof_length/value", "bad_quantity")
    assert "10.2" in refusal.value.message


@pytest.mark.parametrize("unit", ["", "feet", "FT", "foot", "mil", "furlong", "m ", None, 3, ["ft"]])
def test_the_unit_of_a_pair_is_a_symbol_to_the_letter(unit: object) -> None:
    with pytest.raises(UnknownUnitError) as refusal:
        from_value("10.2", unit, LENGTH, field="roof_length")  # type: ignore[arg-type]
    assert refusal.value.field == "roof_length/unit"
    assert "a unit of length (in, ft, yd, m, cm, mm, thou)" in refusal.value.message


def test_a_pair_of_another_kind_points_at_its_unit() -> None:
    with pytest.raises(WrongDimensionError) as refusal:
        from_value("10.2", "lb", LENGTH)
    assert refusal.value.field == "unit"
    with pytest.raises(UnitError, match="it must be text"):
        from_value(10.2, "m", LENGTH)  # type: ignore[arg-type]


@pytest.mark.parametrize("symbol", sorted(BY_SYMBOL))
def test_every_symbol_is_read_as_text_and_as_a_pair(symbol: str) -> None:
    dimension = BY_SYMBOL[symbol].dimension
    assert parse(f"12.5 {symbol}", dimension) == from_value("12.5", symbol, dimension)


def test_slugs_and_symbols_are_all_different() -> None:
    assert len(UNITS) == len(BY_SYMBOL) == 35
    assert all(unit.slug == slug for slug, unit in UNITS.items())


feet = st.integers(0, 999_999_999)
sixteenths = st.integers(0, 12 * 16 - 1)


@quick
@given(feet, sixteenths)
def test_feet_and_sixteenths_are_the_float_nearest_to_their_exact_value(whole: int, part: int) -> None:
    inches, rest = divmod(part, 16)
    read = parse(f"{whole}' {inches} {rest}/16\"", LENGTH)
    # An inch is 25.4 mm, so a sixteenth is 254/16 of 0.1 mm.
    assert read.canonical == float(Fraction(whole * 12 * 254) + Fraction(part * 254, 16))


@quick
@given(st.integers(0, 10_000_000), st.sampled_from(["in", "ft", "yd", "cm", "mm", "m", "ft2", "in3", "lb", "kg"]))
def test_whole_workshop_units_are_whole_canonical_floats(count: int, symbol: str) -> None:
    read = parse(f"{count} {symbol}", BY_SYMBOL[symbol].dimension)
    assert read.canonical == count * int(BY_SYMBOL[symbol].factor)
    assert in_unit(read.canonical, symbol) == count


@quick
@given(st.integers(0, 10**8), st.integers(0, 9999))
def test_metres_to_a_tenth_of_a_millimetre_are_whole(metres: int, tenths: int) -> None:
    assert parse(f"{metres}.{tenths:04d} m", LENGTH).canonical == metres * 10_000 + tenths


number_texts = st.one_of(
    st.from_regex(r"[0-9]{1,9}(\.[0-9]{1,20})?", fullmatch=True),
    st.from_regex(r"[0-9]{1,9}[ -][0-9]{1,4}/[0-9]{1,4}", fullmatch=True),
    st.from_regex(r"[0-9]{0,9}[½⅓¼¾⅛⅜⅝⅞]", fullmatch=True),
)
unit_texts = st.sampled_from([*BY_SYMBOL, "'", '"', "″", " feet", " in.", " sq ft", "' 6\"", " ft 6½ in", "°", "''"])


@quick
@given(number_texts, unit_texts, st.sampled_from([LENGTH, AREA, VOLUME, MASS, TIME, ANGLE, NONE]))
@example("999999999", "' 11.99999999999999999999\"", LENGTH)
def test_what_was_read_is_read_again_from_its_entered_form(number: str, unit: str, dimension: Dimension) -> None:
    try:
        first = parse(number + unit, dimension)
    except UnitError:
        return
    assert parse(first.entered, dimension) == first
    assert len(first.entered) <= LONGEST_TEXT
    assert math.isfinite(first.canonical)
    assert first.canonical >= 0


workshop_text = st.text(alphabet="0123456789 .,/-'\"′″½¼ftinmeFT²^*+()%\x00\n\u00a0٣_", max_size=45)


@quick
@given(st.one_of(workshop_text, st.text(max_size=45)), st.sampled_from([LENGTH, AREA, NONE, TIME / LENGTH]))
def test_any_text_gives_a_quantity_or_a_refusal(text: str, dimension: Dimension) -> None:
    try:
        read = parse(text, dimension)
    except UnitError:
        return
    assert math.isfinite(read.canonical)


def test_texts_made_to_keep_a_matcher_busy_are_answered_at_once() -> None:
    # Forty characters of every short run of what a number or unit may hold: a matcher that backtracks without
    # bound does not come through this list.
    pieces = [
        "1",
        " ",
        "1 ",
        "1-",
        "1/",
        "½",
        "1.",
        "'",
        '"',
        "ft",
        "ft ",
        "1'",
        "a",
        "a ",
        ".",
        "2 ½",
        "ft. ",
        "\u00a0",
    ]
    for first, second in itertools.product(pieces, repeat=2):
        for text in ((first + second) * 40)[:LONGEST_TEXT], (first * 20 + second * 20)[:LONGEST_TEXT]:
            for end in ("", "!", " in"):
                try:
                    parse(text[: LONGEST_TEXT - len(end)] + end, LENGTH)
                except UnitError:
                    continue
