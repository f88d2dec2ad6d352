"""May a roof be tested for leaks so, and what does the test push against?

Air under the roof finds a leak by bubbles, and pushes the new skin up with it: an inch of water is little to read and much to
bear. So the pressure is capped, and never put on a bond that has not cured. Standing water over a whole roof is no test of a
coach: water stands behind local dams, or runs from a hose, from the low edge upward.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType

from costbase.calc.errors import CalculationError

PRESSURISED, HOSE, LOCAL_DAM = "pressurised", "hose", "local_dam"
METHODS: Mapping[str, str] = MappingProxyType(
    {
        PRESSURISED: "Air is blown in and soapy water put on from outside: bubbles show where it leaks.",
        HOSE: "Water from a hose, from the low edge upward, while somebody looks from inside.",
        LOCAL_DAM: "Water stands behind dams round one place; never over the whole roof.",
    }
)
# Inches of water in one of each unit. Source: conventional inch of water, 249.08891 Pa, and pound-force per square foot,
# 47.88026 Pa, NIST SP 811 (2008), table B.9.
UNITS: Mapping[str, Decimal] = MappingProxyType(
    {
        "inch_of_water": Decimal(1),
        "pascal": Decimal(1) / Decimal("249.08891"),
        "psf": Decimal("47.88026") / Decimal("249.08891"),
    }
)
# Common practice is 0.3 to 1, none published for coaches. At 1, 5.2 lb push on every square foot: 1,414 lb on 272 of them.
MOST_INCHES_OF_WATER = Decimal(1)
CAUTION = (
    "One inch of water pushes 5.2 lb up on every square foot of the roof. Never put pressure on a bond that has not cured, and "
    "never more than one inch."
)


class LeakTestError(CalculationError):
    """A leak test that cannot have been made so, or must not be."""

    code = "bad_leak_test"


def check_leak_test(
    method: str, pressure: tuple[Decimal, str] | None, *, bonds_cured: bool, passed: bool, places: Sequence[str]
) -> None:
    """Refuses a test that contradicts itself or is not safe.

    Args:
        method: one of `METHODS`.
        pressure: value and unit (one of `UNITS`), of a pressurised test only.
        bonds_cured: whether somebody affirms that every bond under the skin has cured.
        passed: whether nothing leaked.
        places: where it leaked.

    Raises:
        LeakTestError: no pressure or too much, or on a bond that may not have cured; passed with leaks, or failed without any.

    Source: common practice, none published; the unit factors as in `UNITS`.
    """
    if method not in METHODS:
        raise LeakTestError(f"expected one of {', '.join(METHODS)}, not {method!r}", field="method", value=method)
    if (pressure is not None) != (method == PRESSURISED):
        words = "expected the pressure of a test with air inside, and of no other"
        raise LeakTestError(words, field="pressure", value=method)
    if pressure is not None:
        _check_pressure(*pressure, bonds_cured=bonds_cured)
    if passed and places:
        raise LeakTestError("a test that passed has no places that leak", field="places", value=list(places))
    if not passed and not places:
        raise LeakTestError("expected where it leaked", field="places")


def _check_pressure(value: Decimal, unit: str, *, bonds_cured: bool) -> None:
    if unit not in UNITS:
        raise LeakTestError(f"expected one of {', '.join(UNITS)}, not {unit!r}", field="pressure/unit", value=unit)
    if not Decimal(0) < value * UNITS[unit] <= MOST_INCHES_OF_WATER:
        words = f"expected more than 0 and no more than {MOST_INCHES_OF_WATER} inch of water. {CAUTION}"
        raise LeakTestError(words, field="pressure/value", value=value)
    if not bonds_cured:
        raise LeakTestError(f"expected that every bond has cured. {CAUTION}", field="bonds_cured", value=bonds_cured)
