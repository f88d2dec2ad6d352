"""How are amounts, quantities, shares and bars of a quote written for a person to read?

Everything that comes in has been rounded by the service; here it is only shortened for the eye, half up.
"""

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Final

from babel.numbers import format_currency, format_decimal
from rich.text import Text

from costbase.calc.money import amount as money_amount
from costbase.calc.money import currency

# The words around the numbers are English.
LOCALE: Final = "en"

_UNITS: Final = {"each": "", "share": "", "ft2": "sq ft", "m2": "sq m", "yd3": "cu yd", "fl_oz": "fl oz"}
_PLURALS: Final = {"foot": "feet", "box": "boxes"}

# Solid is known, hatched is uncertain, empty is not looked at: so a bar reads without colour.
SOLID: Final = "solid"
HATCHED: Final = "hatched"
THIN: Final = "thin"
EMPTY: Final = "empty"
_GLYPHS: Final = {SOLID: "█", HATCHED: "▒", THIN: "░", EMPTY: "·"}
_PLAIN_GLYPHS: Final = {SOLID: "#", HATCHED: "/", THIN: ":", EMPTY: "."}
_STYLES: Final = {SOLID: "cyan", HATCHED: "yellow", THIN: "yellow", EMPTY: "dim"}


def money(amount: str, code: str) -> str:
    """An amount with its currency: ``$1,234.50``."""
    rounded = money_amount(Decimal(amount), currency(code))
    return format_currency(rounded, code, locale=LOCALE, decimal_quantization=False)


def number(value: str | float | Decimal, places: int) -> str:
    """A number with at most so many decimals, without zeros at the end."""
    rounded = Decimal(str(value)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return str(format_decimal(rounded.normalize(), format="#,##0.######", locale=LOCALE))


def hours(value: str) -> str:
    """Hours with one decimal, so that they stand under each other."""
    rounded = Decimal(value).quantize(Decimal("0.1"), ROUND_HALF_UP)
    return str(format_decimal(rounded, format="#,##0.0", locale=LOCALE))


def percent(share: float | str) -> str:
    """A share in whole percent."""
    return f"{number(float(share) * 100, 0)} %"


def quantity(value: str, unit: str) -> str:
    """A number with its unit, below ten with one decimal more: ``138.4 sq ft``, ``0.05 gal``, ``2``."""
    return f"{number(value, 2 if Decimal(value) < 10 else 1)} {_UNITS.get(unit, unit)}".rstrip()


def whole_days(value: float) -> str:
    """Days with a begun one counted whole; a hair over a whole number is that number."""
    return str((Decimal(str(value)) - Decimal("0.000001")).quantize(Decimal(1), ROUND_CEILING))


def packs(value: str, name: str) -> str:
    """A number of packs: ``4 gallons``."""
    count = number(value, 2)
    return f"{count} {name if count == '1' else _PLURALS.get(name, f'{name}s')}"


def words(slug: str) -> str:
    """A slug as words, the first with a capital: ``Lead technician``."""
    return slug.replace("-", " ").replace("_", " ").capitalize()


def roofs_in(level: float) -> str:
    """How often a limit holds, in the owner's words: ``4 roofs in 5``."""
    share = Fraction(level).limit_denominator(20)
    return f"{share.numerator} roofs in {share.denominator}"


def bar(parts: Sequence[tuple[str, float]], whole: float, width: int, *, plain: bool) -> Text:
    """A bar of `width` characters for `whole`, beginning at zero, with its parts one after the other.

    Args:
        parts: kind (SOLID, HATCHED, THIN, EMPTY) and size of each part, in the unit of `whole`.
        whole: what the full width stands for.
        width: in characters.
        plain: whether only ASCII can be shown.
    """
    glyphs = _PLAIN_GLYPHS if plain else _GLYPHS
    text, reached, drawn = Text(), 0.0, 0
    for kind, size in parts:
        reached += size
        # Ends are rounded, not lengths, so that parts do not drift; what is there is seen, however small.
        end = min(width, max(round(width * reached / whole), drawn + (size > 0))) if whole > 0 else drawn
        text.append(glyphs[kind] * (end - drawn), style=_STYLES[kind])
        drawn = end
    return text
