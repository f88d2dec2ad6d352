"""When does a number become an amount of money, and where is an amount rounded?

This is the only module that rounds amounts, and `extend` the only place where a quantity and a price become
one. Amounts, prices and shares are `Decimal`. A float comes in through `decimal_quantity` (a quantity or
hours that enter a line) and `amount` (a figure of the contingency, which is worked out in floats), nowhere
else. What follows a rounded amount adds and subtracts, which is exact; `ROUNDED_WHERE` lists every moment
of rounding.

The trick: products are worked out exactly, and quotients to far more digits than any amount has, in
contexts of our own, and then rounded once. Under Python's usual 28 digits a long quantity times a long
price is rounded twice.

Half up means that a tie goes away from zero, so that a credit takes back exactly what was charged. Formatting
for a locale mostly rounds half to even: quantise here first, format after.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import (
    ROUND_FLOOR,
    ROUND_HALF_UP,
    Context,
    Decimal,
    DecimalException,
    DivisionByZero,
    Inexact,
    InvalidOperation,
    Overflow,
)

from costbase.calc.errors import CalculationError
from costbase.calc.units import half_up_scaled

ROUNDED_WHERE: tuple[str, ...] = (
    "labour line: hours (4 decimals) x billed rate (extend)",
    "material line: packs, use or measure x marked-up price (extend)",
    "freight of a material: one order x marked-up freight (extend)",
    "option line, line of a change order, actual cost in a variance: as the line that it is (extend)",
    "shop supplies: share x labour lines, before the cap is applied (share_of)",
    "overhead: share x (labour + material + supplies) (share_of)",
    "minimum charge and supplies cap, as the pricing rule states them (amount); the line is a difference",
    "unit price of hidden or counted work: 6 decimals, at each save of a draft (unit_price, per_unit)",
    "set-up of hidden or counted work (amount)",
    "draw on what is set aside, and credit of counted work: quantity x unit price (extend)",
    "allowance: the mean of hidden work (amount)",
    "contingency: the level's order statistic, or the allowance if that is more (amount)",
    "expected visible work of an open quote (amount); what it differs from the base by is a line",
    "allowance of each component, so that they add up to the allowance (largest_remainder)",
    "forecast of the final cost, each quantile (amount)",
    "taxed part of the contingency: contingency x largest material share (share_of)",
    "tax: summed base x rate, once for each rate (share_of)",
    "owner's total: to the step of the pricing rule, after tax (to_step); the line is a difference",
    "deposit: share x total (share_of)",
    "line of a settlement: amount x share done, or goods that stay x price (share_of, extend)",
    "entry of the ledger: hours, goods or a line of an invoice x cost, and x billed rate or marked-up price (extend)",
    "overrun that a policy allows without consent: authorised amount x share, rounded down (share_down)",
    "line at a stage of a bill: amount x share of its phase that is done (share_of)",
    "line of the shop at a stage of a bill: by what the others have come to (largest_remainder)",
    "cut of a bill at the limit, and goodwill: over its tax classes (largest_remainder)",
    "split of an amount over lines, causes or people (largest_remainder)",
    "coach's share of a line, of the tax and of the expected visible work of its fleet (largest_remainder)",
)
"""Every moment at which an amount is rounded, half up to the currency unless said otherwise, and by what.

Reserve, limit, sums of lines, amounts due and rounding lines are sums and differences of rounded amounts, and
are never rounded themselves.
"""

UNIT_PRICE_PLACES = 6
# What the columns hold, numeric(16, 3) and numeric(16, 6): more is refused here, where it still has a name.
AMOUNT_BELOW = Decimal(10) ** 13
UNIT_PRICE_BELOW = Decimal(10) ** 10

# Codes of ISO 4217 that are legal tender somewhere, by the decimals that CLDR gives them. CLDR follows use:
# it gives none to some currencies whose subunit ISO still lists but nobody coins (IQD, LBP, RSD and
# others). Source: Unicode CLDR, supplemental currency data, as packed in Babel 2.18.
_CODES_BY_DIGITS = {
    0: """AFN ALL BIF CLP DJF GNF IQD IRR ISK JPY KMF KPW KRW LAK LBP MGA MMK PYG RSD RWF SOS SYP UGX VND VUV
        XAF XOF XPF YER""",
    2: """AED AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY
        COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG
        HUF IDR ILS INR JMD KES KGS KHR KYD KZT LKR LRD LSL MAD MDL MKD MNT MOP MRU MUR MVR MWK MXN MYR
        MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RUB SAR SBD SCR SDG SEK SGD SHP SLE
        SRD SSP STN SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VES WST XCD XCG ZAR ZMW ZWG""",
    3: "BHD JOD KWD LYD OMR TND",
}


class MoneyError(CalculationError):
    """A number that cannot be, or become, an amount."""

    code = "bad_amount"


class NotDecimalError(MoneyError, TypeError):
    """A float, an int or a text where a Decimal belongs: a fault of the caller, not of the user."""

    code = "not_decimal"


class UnknownCurrencyError(MoneyError):
    """A code that is no current currency."""

    code = "unknown_currency"


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency: its ISO 4217 code and the decimals of its amounts."""

    code: str
    digits: int


_CURRENCIES = {code: Currency(code, digits) for digits, codes in _CODES_BY_DIGITS.items() for code in codes.split()}
_ONE = Decimal(1)
_LAST_PLACE = {places: Decimal((0, (1,), -places)) for places in range(UNIT_PRICE_PLACES + 1)}
_REFUSED = [InvalidOperation, DivisionByZero, Overflow]
# A product that is not exact within 400 digits has no business in a quote, and is an error.
_EXACT = Context(prec=400, rounding=ROUND_HALF_UP, traps=[*_REFUSED, Inexact])
_HALF_UP = Context(prec=400, rounding=ROUND_HALF_UP, traps=_REFUSED)
_DOWN = Context(prec=400, rounding=ROUND_FLOOR, traps=_REFUSED)


def currency(code: str) -> Currency:
    """The currency of a three-letter ISO 4217 code in capitals, with the decimals that CLDR gives it.

    Raises:
        UnknownCurrencyError: no currency in use has that code.
    """
    if code not in _CURRENCIES:
        message = f"unknown currency {code!r}: expected the ISO 4217 code of a currency in use, such as USD"
        raise UnknownCurrencyError(message, value=code)
    return _CURRENCIES[code]


def decimal_quantity(x: float, places: int = 4) -> Decimal:
    """A quantity or hours as they enter a line: half up, where a millionth of the last decimal makes a tie.

    Args:
        x: in the unit of the line, not canonical.
        places: 4 for quantities and hours, 2 for materials that are sold by measure.

    Raises:
        UnitError: x is not finite.
    """
    return Decimal(half_up_scaled(x, places)).scaleb(-places, _EXACT)


def extend(quantity: Decimal, price: Decimal, currency: Currency) -> Decimal:
    """Quantity x price: the amount of a line, half up. The only product of a quantity and a price.

    Args:
        quantity: as `decimal_quantity` made it, in the unit that the price is for; negative in a credit.
        price: for one unit, in the currency, with markup, not rounded.
        currency: whose decimals the amount gets.

    Raises:
        MoneyError: a number is no finite Decimal, or the amount is beyond what a quote can hold.
    """
    if type(quantity) is type(price) is Decimal:
        # Every line of every quote comes by here: what is an amount at once needs no words for what it is not.
        try:
            rounded = _EXACT.multiply(quantity, price).quantize(_LAST_PLACE[currency.digits], None, _HALF_UP)
            if rounded and -AMOUNT_BELOW < rounded < AMOUNT_BELOW:
                return rounded
        except DecimalException:
            pass
    return _to_currency(_times(quantity, price, "a quantity", "a price"), currency)


def marked_up(price: Decimal, markup: Decimal) -> Decimal:
    """Price x (1 + markup), exact and not rounded: the rounding is the line's.

    Args:
        price: purchase price of one unit or pack.
        markup: on cost, as a share: 0.35 makes 100 into 135.

    Raises:
        MoneyError: a number is no finite Decimal.
    """
    try:
        factor = _EXACT.add(_ONE, _number(markup, "a markup"))
    except DecimalException as error:
        raise _absurd(markup) from error
    return _times(price, factor, "a price", "a markup")


def share_of(amount: Decimal, share: Decimal, currency: Currency) -> Decimal:
    """A share (0.0825, never 8.25) of an amount, half up to the currency: supplies, overhead, tax, deposit.

    Raises:
        MoneyError: a number is no finite Decimal, or the result is beyond what a quote can hold.
    """
    return _to_currency(_times(amount, share, "an amount", "a share"), currency)


def share_down(amount: Decimal, share: Decimal, currency: Currency) -> Decimal:
    """A share of an amount, rounded down to the currency: what needs no consent is never rounded up.

    Raises:
        MoneyError: a number is no finite Decimal, or the result is beyond what a quote can hold.
    """
    exact = _times(amount, share, "an amount", "a share")
    return _below(AMOUNT_BELOW, _quantise(exact, currency.digits, _DOWN))


def unit_price(x: Decimal) -> Decimal:
    """A price for one unit of hidden or counted work, half up to 6 decimals.

    Raises:
        MoneyError: x is no finite Decimal, or beyond what a quote can hold.
    """
    return _below(UNIT_PRICE_BELOW, _quantise(_number(x, "a unit price"), UNIT_PRICE_PLACES, _HALF_UP))


def per_unit(amount: Decimal, quantity: Decimal) -> Decimal:
    """Amount / quantity as a unit price: divided first, then rounded once, half up to 6 decimals.

    Raises:
        MoneyError: a number is no finite Decimal, the quantity is zero, or the price is beyond what a quote
            can hold.
    """
    if _number(quantity, "a quantity") == 0:
        raise MoneyError("expected a quantity other than 0 to work a unit price out", value=quantity)
    return unit_price(_divided(_number(amount, "an amount"), quantity))


def amount(x: Decimal | float, currency: Currency) -> Decimal:
    """A number as an amount, half up to the currency.

    Args:
        x: a Decimal, or a float of the contingency. A float counts at its exact binary value: 2.675 is a
            little less than it says, and becomes 2.67.
        currency: whose decimals the amount gets.

    Raises:
        MoneyError: x is neither, is not finite, or is beyond what a quote can hold.
    """
    number = Decimal.from_float(x) if isinstance(x, float) else x
    return _to_currency(_number(number, "an amount"), currency)


def to_step(amount: Decimal, step: Decimal, currency: Currency) -> Decimal:
    """The amount to the nearest whole multiple of a step, half up; a step of 0 leaves it as it is.

    Args:
        amount: in the decimals of the currency.
        step: 0, or a positive amount of the currency, such as 5 or 0.05.
        currency: of both.

    Raises:
        MoneyError: a number is no finite Decimal or has too many decimals, or the step is negative.
    """
    _must_be_amount(amount, currency)
    _must_be_amount(step, currency)
    if step < 0:
        raise MoneyError(f"expected a step of 0 or more, not {step}", value=step)
    if step == 0:
        return _to_currency(amount, currency)
    steps = _quantise(_divided(amount, step), 0, _HALF_UP)
    return _to_currency(_times(steps, step, "an amount", "a step"), currency)


def largest_remainder(total: Decimal, parts: Sequence[Decimal], currency: Currency) -> tuple[Decimal, ...]:
    """A total split in proportion to `parts` into amounts of the currency that add up to it exactly.

    Each share is cut down to the last decimal of the currency. What is then left goes, one last decimal
    each, to the largest remainders, the earlier of equals first. So no share is a whole last decimal off,
    and a part of 0 gets 0.

    Args:
        total: in the decimals of the currency; may be negative.
        parts: what to split by, none negative; they need not add up to the total.
        currency: of the total.

    Raises:
        MoneyError: a number is no finite Decimal, the total has too many decimals, a part is negative, or no
            part can take a total that is not 0.

    Source: the method of Hamilton; M. L. Balinski and H. P. Young, Fair Representation, 1982 (from memory).
    """
    _must_be_amount(total, currency)
    return _split(total, parts, currency.digits)


def split_quantity(total: Decimal, parts: Sequence[Decimal], places: int = 4) -> tuple[Decimal, ...]:
    """Hours or packs split in proportion to `parts`, by largest remainder as amounts are, so that they add up exactly.

    Args:
        total: as `decimal_quantity` made it, with `places` decimals at most.
        parts: what to split by, none negative.
        places: decimals of the shares.

    Raises:
        MoneyError: as `largest_remainder`.
    """
    if _quantise(_number(total, "a quantity"), places, _HALF_UP) != total:
        raise MoneyError(f"expected a quantity with {places} decimals at most, not {total}", value=total)
    return _split(total, parts, places)


def _split(total: Decimal, parts: Sequence[Decimal], places: int) -> tuple[Decimal, ...]:
    if any(_number(part, "a part") < 0 for part in parts) or (total != 0 and not any(parts)):
        words = ", ".join(map(str, parts)) or "none"
        raise MoneyError(f"expected parts of 0 or more that can take {total}, not {words}", value=tuple(parts))
    weights = _whole_numbers(parts)
    whole = sum(weights) or 1
    units = abs(int(total.scaleb(places, _EXACT)))
    shares = [divmod(units * weight, whole) for weight in weights]
    counts = [count for count, _ in shares]
    # sorted() is stable, and so the earlier of equal remainders comes first.
    by_remainder = sorted(range(len(shares)), key=lambda place: -shares[place][1])
    for place in by_remainder[: units - sum(counts)]:
        counts[place] += 1
    sign = -1 if total < 0 else 1
    return tuple(Decimal(sign * count).scaleb(-places, _EXACT) for count in counts)


def _whole_numbers(parts: Sequence[Decimal]) -> list[int]:
    """Whole numbers in the very proportion of the parts, however long their decimals are."""
    ratios = [part.as_integer_ratio() for part in parts]
    common = math.lcm(*(below for _, below in ratios))
    return [above * (common // below) for above, below in ratios]


def _number(x: object, what: str) -> Decimal:
    if not isinstance(x, Decimal):
        raise NotDecimalError(f"expected {what} as a Decimal, not {x!r} ({type(x).__name__})", value=x)
    if not x.is_finite():
        raise MoneyError(f"expected {what} that is finite, not {x}", value=x)
    return x


def _must_be_amount(x: Decimal, currency: Currency) -> None:
    if _to_currency(_number(x, "an amount"), currency) != x:
        message = f"expected an amount of {currency.code} with {currency.digits} decimals at most, not {x}"
        raise MoneyError(message, value=x)


def _times(first: Decimal, second: Decimal, first_name: str, second_name: str) -> Decimal:
    _number(first, first_name)
    _number(second, second_name)
    try:
        return _EXACT.multiply(first, second)
    except DecimalException as error:
        raise _absurd(first, second) from error


def _divided(above: Decimal, below: Decimal) -> Decimal:
    # A quotient that is a tie ends within 400 digits; no other comes so near to one as to be rounded twice.
    try:
        return _HALF_UP.divide(above, below)
    except DecimalException as error:
        raise _absurd(above, below) from error


def _quantise(x: Decimal, places: int, context: Context) -> Decimal:
    try:
        rounded = x.quantize(_LAST_PLACE[places], None, context)
    except DecimalException as error:
        raise _absurd(x) from error
    # A credit of less than half a cent is 0.00, not -0.00.
    return rounded if rounded else rounded.copy_abs()


def _absurd(*numbers: Decimal) -> MoneyError:
    words = " and ".join(map(str, numbers))
    return MoneyError(f"expected numbers of a size that a quote can hold, not {words}", value=numbers)


def _below(bound: Decimal, x: Decimal) -> Decimal:
    if x.copy_abs() >= bound:
        raise MoneyError(f"expected less than {bound:f}, not {x}", value=x)
    return x


def _to_currency(x: Decimal, currency: Currency) -> Decimal:
    return _below(AMOUNT_BELOW, _quantise(x, currency.digits, _HALF_UP))
