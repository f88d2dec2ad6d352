"""Which kind, dimension and range does each operation of the language give, and what does it refuse?

One function an operation. A part that is faulty makes what is above it unknown without a word, so that one slip is one
message.
"""

from collections.abc import Callable

from costbase.calc.formula import ranges
from costbase.calc.formula.checker import FAULTY, Checker, Judge, Known, did_you_mean, known_number, unit_for
from costbase.calc.formula.kinds import Choice, Flag, Number, a_dimension, kind_words
from costbase.calc.formula.parts import Part
from costbase.calc.formula.ranges import Bounds
from costbase.calc.units import NONE, UNITS, Dimension

# Nothing that a roof is quoted by is a power above this; it also keeps every factor of conversion within a float.
MAX_EXPONENT = 12
_FLAG = Known(Flag())


def _fault(checker: Checker, part: Part) -> Known:
    return FAULTY


def _literal(checker: Checker, part: Part) -> Known:
    whole = part.number.is_integer()
    return known_number(NONE, whole, ranges.exactly(part.number), any_dimension=part.number == 0)


def _flag(checker: Checker, part: Part) -> Known:
    return _FLAG


def _option(checker: Checker, part: Part) -> Known:
    return Known(Choice(frozenset({part.word})))


def _unit(checker: Checker, part: Part) -> Known:
    unit = UNITS[part.word]
    return known_number(unit.dimension, part.word == "each", ranges.exactly(float(unit.factor)))


def _name(checker: Checker, part: Part) -> Known:
    kind = checker.names.get(part.word)
    if kind is None:
        nearest = checker.nearest(part.word)
        return checker.fault(part, f"there is no measure {part.word}{did_you_mean(nearest)}", nearest)
    checker.inputs[part.word] = None
    return Known(kind, nonzero=isinstance(kind, Number) and not kind.low <= 0 <= kind.high)


def _numbers(checker: Checker, part: Part) -> list[Number] | None:
    """The kinds of all parts where every one is a number; judges each, so that all errors are found."""
    kinds = [checker.a_number(inner) for inner in part.parts]
    found = [kind for kind in kinds if kind is not None]
    return found if len(found) == len(kinds) else None


def _bounds(checker: Checker, part: Part) -> list[Bounds]:
    return [checker.known[id(inner)].bounds for inner in part.parts]


def _alike(verb: str, link: str, bounds: Callable[..., Bounds]) -> Judge:
    """The judge of an operation on numbers of one dimension that gives a number of it."""

    def judge(checker: Checker, part: Part) -> Known:
        kinds = _numbers(checker, part)
        if kinds is None:
            return FAULTY
        dimension = checker.one_dimension(part.parts, verb, link)
        if dimension is None:
            return FAULTY
        whole = all(kind.whole for kind in kinds)
        any_dimension = checker.all_zero(part.parts)
        return known_number(dimension, whole, bounds(*_bounds(checker, part)), any_dimension=any_dimension)

    return judge


def _within_reach(checker: Checker, part: Part, dimension: Dimension, whole: bool, bounds: Bounds) -> Known:
    exponents = (dimension.length, dimension.mass, dimension.time, dimension.angle)
    if max(map(abs, exponents)) > MAX_EXPONENT:
        return checker.fault(part, f"{a_dimension(dimension)} is beyond any measure")
    return known_number(dimension, whole, bounds)


def _multiply(checker: Checker, part: Part) -> Known:
    kinds = _numbers(checker, part)
    if kinds is None:
        return FAULTY
    dimension = kinds[0].dimension * kinds[1].dimension
    bounds = ranges.multiply(*_bounds(checker, part))
    return _within_reach(checker, part, dimension, kinds[0].whole and kinds[1].whole, bounds)


def _divide(checker: Checker, part: Part) -> Known:
    kinds = _numbers(checker, part)
    if kinds is None:
        return FAULTY
    divisor = part.parts[1]
    above, below = _bounds(checker, part)
    written = checker.brief(divisor)
    if below.low == below.high == 0:
        return checker.fault(divisor, f"nothing can be divided by zero, and {written} is always 0")
    if below.can_be_zero:
        guard = f"{written} {'>' if below.low >= 0 else '!='} 0"
        reason = f"{written} can be 0, and nothing can be divided by zero: guard it, such as ... if {guard} else 0"
        checker.warn(divisor, "division_can_be_zero", reason)
    dimension = kinds[0].dimension / kinds[1].dimension
    return _within_reach(checker, part, dimension, False, ranges.divide(above, below))


def _power(checker: Checker, part: Part) -> Known:
    kinds = _numbers(checker, part)
    if kinds is None:
        return FAULTY
    exponent = int(part.number)
    bounds = ranges.power(_bounds(checker, part)[0], exponent)
    return _within_reach(checker, part, kinds[0].dimension ** exponent, kinds[0].whole, bounds)


def _whole(name: str, bounds: Callable[[Bounds], Bounds]) -> Judge:
    """The judge of a function that makes a whole number of a number without dimension."""

    def judge(checker: Checker, part: Part) -> Known:
        kind = checker.a_number(part.parts[0])
        if kind is None:
            return FAULTY
        if kind.dimension != NONE:
            written = checker.brief(part.parts[0])
            reason = f"{name} takes a plain number, and {written} is {a_dimension(kind.dimension)}: divide by a unit first"
            checker.fault(part.parts[0], f"{reason}, such as {name}({written} / {unit_for(kind.dimension)})")
        return known_number(NONE, True, bounds(_bounds(checker, part)[0]))

    return judge


def _square_root(checker: Checker, part: Part) -> Known:
    inner = part.parts[0]
    kind = checker.a_number(inner)
    if kind is None:
        return FAULTY
    dimension, written = kind.dimension, checker.brief(inner)
    if any(exponent % 2 for exponent in (dimension.length, dimension.mass, dimension.time, dimension.angle)):
        return checker.fault(inner, f"the square root of {a_dimension(dimension)} ({written}) is no measure")
    if kind.high < 0:
        return checker.fault(inner, f"there is no square root below zero, and {written} always is")
    if kind.low < 0:
        reason = f"{written} can be below zero, and there is no square root of that: write sqrt(max(..., 0))"
        checker.warn(inner, "root_can_be_negative", reason)
    half = Dimension(dimension.length // 2, dimension.mass // 2, dimension.time // 2, dimension.angle // 2)
    return known_number(half, False, ranges.square_root(_bounds(checker, part)[0]))


def _compare(checker: Checker, part: Part) -> Known:
    kinds = [checker.judge(inner).kind for inner in part.parts]
    if any(isinstance(kind, Choice) for kind in kinds):
        _compare_choices(checker, part)
        return _FLAG
    numbers = sum(isinstance(kind, Number) for kind in kinds)
    flags = [inner for inner, kind in zip(part.parts, kinds, strict=True) if isinstance(kind, Flag)]
    named = [inner for inner in flags if inner.op != "flag"]
    # Beside a named flag, the True that it is compared with needs no words of its own.
    for inner in named or flags:
        written = checker.brief(inner)
        checker.fault(inner, f"{written} is yes or no: write {written} or not {written} without comparing it")
    if numbers == len(kinds):
        checker.one_dimension(part.parts, "compare")
    return _FLAG


def _compare_choices(checker: Checker, part: Part) -> None:
    links = zip(part.parts, part.word.split(), part.parts[1:], strict=False)
    for left, op, right in links:
        if left.op == "option" and right.op != "option":
            left, right = right, left  # noqa: PLW2901  (an option may stand on either side)
        kind = checker.known[id(left)].kind
        if right.op != "option" or left.op == "option":
            if kind is not None and checker.known[id(right)].kind is not None:
                checker.fault(right, f"{checker.brief(right)} is no quoted option to compare {checker.brief(left)} with")
        elif isinstance(kind, Choice):
            _compare_option(checker, kind, op, left, right)
        elif kind is not None:
            checker.fault(left, f"{checker.brief(left)} is {kind_words(kind)} and has no options")


def _compare_option(checker: Checker, kind: Choice, op: str, left: Part, right: Part) -> None:
    if op not in ("==", "!="):
        checker.fault(right, f"options have no order, so {op} cannot compare them: write == or !=")
    if right.word not in kind.options:
        nearest = checker.nearest_option(right.word, kind)
        told = f"{checker.brief(left)} is never '{right.word}'{did_you_mean(nearest)}; it is {kind_words(kind)}"
        checker.fault(right, told, nearest)


def _logic(checker: Checker, part: Part) -> Known:
    """Later parts of ``and`` are worked out only where the earlier ones hold, those of ``or`` only where they do not."""
    before = checker.facts
    for inner in part.parts:
        checker.condition(inner, checker.judge(inner))
        checker.assume(inner, holds=part.op == "and")
    checker.facts = before
    return _FLAG


def _not(checker: Checker, part: Part) -> Known:
    checker.condition(part.parts[0], checker.judge(part.parts[0]))
    return _FLAG


def _conditional(checker: Checker, part: Part) -> Known:
    condition, then, otherwise = part.parts
    checker.condition(condition, checker.judge(condition))
    arms = []
    for arm, holds in ((then, True), (otherwise, False)):
        before = checker.facts
        checker.assume(condition, holds=holds)
        arms.append(checker.judge(arm))
        checker.facts = before
    first, second = arms
    if first.kind is None or second.kind is None:
        return FAULTY
    if isinstance(first.kind, Number) and isinstance(second.kind, Number):
        return _number_arms(checker, (then, otherwise))
    if isinstance(first.kind, Choice) and isinstance(second.kind, Choice):
        return Known(Choice(first.kind.options | second.kind.options))
    if isinstance(first.kind, Flag) and isinstance(second.kind, Flag):
        return _FLAG
    one = f"{checker.brief(then)} is {kind_words(first.kind)}"
    other = f"{checker.brief(otherwise)} is {kind_words(second.kind)}"
    return checker.fault(otherwise, f"both arms must be of one kind: {one} and {other}")


def _number_arms(checker: Checker, arms: tuple[Part, Part]) -> Known:
    dimension = checker.one_dimension(arms, "choose between")
    if dimension is None:
        return FAULTY
    first, second = (checker.known[id(arm)] for arm in arms)
    whole = all(isinstance(known.kind, Number) and known.kind.whole for known in (first, second))
    bounds = ranges.either(first.bounds, second.bounds)
    return known_number(dimension, whole, bounds, any_dimension=checker.all_zero(arms))


JUDGES: dict[str, Judge] = {
    "fault": _fault,
    "number": _literal,
    "flag": _flag,
    "option": _option,
    "unit": _unit,
    "name": _name,
    "plus": _alike("take", "and", lambda bounds: bounds),
    "negate": _alike("negate", "and", ranges.negate),
    "+": _alike("add", "and", ranges.add),
    "-": _alike("subtract", "from", ranges.subtract),
    "*": _multiply,
    "/": _divide,
    "**": _power,
    "min": _alike("take the min of", "and", ranges.least),
    "max": _alike("take the max of", "and", ranges.most),
    "clamp": _alike("clamp", "to", ranges.clamped),
    "abs": _alike("take the size of", "and", ranges.absolute),
    "ceil": _whole("ceil", ranges.ceiling),
    "floor": _whole("floor", ranges.floor),
    "round": _whole("round", ranges.rounded),
    "sqrt": _square_root,
    "compare": _compare,
    "and": _logic,
    "or": _logic,
    "not": _not,
    "if": _conditional,
}
