"""How does a checked formula run as fast as a function written by hand?

A tree of parts is written out once as Python source over local variables, with each part in it exactly once, and
compiled. The source holds nothing of the text but names as dictionary keys, options as quoted strings and numbers as
floats, and runs without builtins. When anything fails, the slow walk over the tree works the formula out again and tells
what failed and where.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import cast

from costbase.calc.formula.kinds import Choice, Flag, Kind, Number
from costbase.calc.formula.parts import Part
from costbase.calc.formula.walk import OPERATIONS, Value, Values
from costbase.calc.units import UNITS, UnitError, ceil_tolerant, floor_tolerant, round_half_up

Evaluate = Callable[[Values], Value]

# How tightly a piece of source binds; the looser one is bracketed inside the tighter one.
_IF, _OR, _AND, _NOT, _COMPARE, _ADD, _MULTIPLY, _NEGATE, _ATOM = range(9)
_BINDING = {"+": _ADD, "-": _ADD, "*": _MULTIPLY, "/": _MULTIPLY}
_CALLS = {
    "min": "min",
    "max": "max",
    "abs": "abs",
    "sqrt": "sqrt",
    "ceil": "ceil",
    "floor": "floor",
    "round": "half_up",
}
NAMESPACE: dict[str, object] = {
    "__builtins__": {},
    "min": min,
    "max": max,
    "abs": abs,
    "sqrt": math.sqrt,
    "close": math.isclose,
    "isfinite": math.isfinite,
    "total": sum,
    "ceil": ceil_tolerant,
    "floor": floor_tolerant,
    "half_up": round_half_up,
    "flags": {True: True, False: False},
    "FAILURES": (ArithmeticError, ValueError, TypeError, LookupError, UnitError),
}


def folded(part: Part) -> Part:
    """The tree with units and constant arithmetic worked out, by the operations of the walk; for writing source only."""
    if part.op == "unit":
        return Part("number", number=float(UNITS[part.word].factor))
    parts = tuple(folded(inner) for inner in part.parts)
    if parts and part.op in OPERATIONS and all(inner.op == "number" for inner in parts):
        extra = (part.number,) if part.op == "**" else ()
        try:
            value = OPERATIONS[part.op](*(inner.number for inner in parts), *extra)
        except (ArithmeticError, ValueError, UnitError):
            value = math.nan  # Left as it is, to fail when it is worked out, if ever it is.
        # Not into 0 either: 0.0 and -0.0 are equal as parts, and a row would take the one for the other.
        if math.isfinite(value) and value != 0:
            return Part("number", number=value)
    return Part(part.op, parts, part.word, part.number)


def _names_to_convert(trees: Sequence[Part]) -> set[str]:
    """The measures that must be made floats when they are read, because an int would not act as its float does.

    Left out are those that only ever meet a float in ``+ - * /``: Python makes them floats there itself. Everything that is
    no bare name is a float, given that names under all other operations are converted, so of two names that meet one is enough.
    """
    converted = {tree.word for tree in trees}

    def visit(part: Part) -> None:
        names = [inner.word for inner in part.parts if inner.op == "name"]
        if part.op not in _BINDING:
            converted.update(names)
        elif len(names) == 2 and converted.isdisjoint(names):
            converted.add(names[0])
        for inner in part.parts:
            visit(inner)

    for tree in trees:
        visit(tree)
    return converted


class Writer:
    """Writes parts as source; `locals` maps what stands in a local variable already to the variable's name."""

    def __init__(self, kinds: Mapping[str, Kind]) -> None:
        self.kinds = kinds
        self.locals: dict[Part, str] = {}
        self.temporaries = 0

    def read_inputs(self, trees: Sequence[Part]) -> list[str]:
        """Statements that read each measure of the trees into a local variable; a wrong type fails here or in its use."""
        lines = []
        converted = _names_to_convert(trees)
        for word, kind in self.kinds.items():
            local = f"v_{word}"
            self.locals[Part("name", word=word)] = local
            if isinstance(kind, Number):
                lines.append(f"{local} = values[{word!r}]{' + 0.0' * (word in converted)}")
            elif isinstance(kind, Flag):
                lines.append(f"{local} = flags[values[{word!r}]]")
            else:
                options = {option: option for option in sorted(kind.options)}
                lines.append(f"{local} = {options!r}[values[{word!r}]]")
        return lines

    def new_local(self) -> str:
        """The name of a local variable that is not used yet."""
        self.temporaries += 1
        return f"t{self.temporaries}"

    def write(self, part: Part, binding: int = _IF) -> str:
        """The source of a part, bracketed where it binds more loosely than `binding`."""
        local = self.locals.get(part)
        if local is not None:
            return local
        source, own = _WRITERS[part.op](self, part)
        return f"({source})" if own < binding else source

    def is_choice(self, part: Part) -> bool:
        """Whether a part is an option, known by what it is made of."""
        if part.op == "if":
            return self.is_choice(part.parts[1])
        return part.op == "option" or (part.op == "name" and isinstance(self.kinds[part.word], Choice))


Written = tuple[str, int]


def _number(writer: Writer, part: Part) -> Written:
    return repr(part.number), _NEGATE if part.number < 0 or repr(part.number)[0] == "-" else _ATOM


def _binary(writer: Writer, part: Part) -> Written:
    own = _BINDING[part.op]
    left, right = part.parts
    return f"{writer.write(left, own)} {part.op} {writer.write(right, own + 1)}", own


def _negate(writer: Writer, part: Part) -> Written:
    return f"-{writer.write(part.parts[0], _ATOM)}", _NEGATE


def _power(writer: Writer, part: Part) -> Written:
    # Bracketed as a whole, so that it never meets a minus sign; a float power is what the walk raises to.
    return f"({writer.write(part.parts[0], _ATOM)} ** {part.number!r})", _ATOM


def _call(writer: Writer, part: Part) -> Written:
    values = ", ".join(writer.write(inner) for inner in part.parts)
    if part.op == "round":
        return f"half_up({values}, 0)", _ATOM
    called = f"{_CALLS[part.op]}({values})"
    return (f"{called} + 0.0", _ADD) if part.op in ("ceil", "floor") else (called, _ATOM)


def _clamp(writer: Writer, part: Part) -> Written:
    value, low, high = (writer.write(inner) for inner in part.parts)
    return f"min(max({value}, {low}), {high})", _ATOM


def _logic(writer: Writer, part: Part) -> Written:
    own = _AND if part.op == "and" else _OR
    return f" {part.op} ".join(writer.write(inner, own + 1) for inner in part.parts), own


def _not(writer: Writer, part: Part) -> Written:
    return f"not {writer.write(part.parts[0], _NOT)}", _NOT


def _conditional(writer: Writer, part: Part) -> Written:
    condition, then, otherwise = part.parts
    return f"{writer.write(then, _OR)} if {writer.write(condition, _OR)} else {writer.write(otherwise)}", _IF


def _compare(writer: Writer, part: Part) -> Written:
    """A chain as links joined by ``and``; an operand that is needed again is kept in a local, never written twice."""
    links = []
    left, left_again = _operand(writer, part.parts[0])
    for op, previous, inner in zip(part.word.split(), part.parts, part.parts[1:], strict=False):
        right, right_again = _operand(writer, inner)
        if writer.is_choice(inner) or writer.is_choice(previous) or 0 in (_constant(previous), _constant(inner)):
            # Nothing but 0 is within a relative distance of 0.
            links.append(f"{left} {op} {right}")
        else:
            links.append(_LINKS[op].format(left=left, right=right, a=left_again, b=right_again, op=op))
        left = left_again = right_again
    if len(links) == 1:
        return links[0], _OR
    return " and ".join(f"({link})" for link in links), _AND


_LINKS = {
    "<": "{left} {op} {right} and not close({a}, {b})",
    ">": "{left} {op} {right} and not close({a}, {b})",
    "<=": "{left} {op} {right} or close({a}, {b})",
    ">=": "{left} {op} {right} or close({a}, {b})",
    "==": "close({left}, {right})",
    "!=": "not close({left}, {right})",
}


def _constant(part: Part) -> float | None:
    return part.number if part.op == "number" else None


def _operand(writer: Writer, part: Part) -> tuple[str, str]:
    """An operand's source for its first use and for later ones."""
    source = writer.write(part, _COMPARE + 1)
    if part in writer.locals or part.op in ("number", "option"):
        return source, source
    local = writer.new_local()
    return f"({local} := {source})", local


_WRITERS: dict[str, Callable[[Writer, Part], Written]] = {
    "number": _number,
    "flag": lambda writer, part: (repr(part.number != 0), _ATOM),
    "option": lambda writer, part: (repr(part.word), _ATOM),
    "plus": lambda writer, part: (f"+{writer.write(part.parts[0], _ATOM)}", _NEGATE),
    "negate": _negate,
    "+": _binary,
    "-": _binary,
    "*": _binary,
    "/": _binary,
    "**": _power,
    "clamp": _clamp,
    "compare": _compare,
    "and": _logic,
    "or": _logic,
    "not": _not,
    "if": _conditional,
    **dict.fromkeys(_CALLS, _call),
}


def build(lines: list[str], again: Callable[[Values], object]) -> Callable[[Values], object]:
    """The function of these statements over `values`; where one of them fails, or none returns, the answer is `again`'s."""
    body = "".join(f"        {line}\n" for line in lines)
    source = f"def evaluate(values):\n    try:\n{body}    except FAILURES:\n        pass\n    return again(values)\n"
    namespace = NAMESPACE | {"again": again}
    exec(compile(source, "<formula>", "exec", dont_inherit=True), namespace)
    return cast(Callable[[Values], object], namespace["evaluate"])


def one_function(tree: Part, kind: Kind, kinds: Mapping[str, Kind], again: Evaluate) -> Evaluate:
    """The function of one formula.

    Args:
        tree: a tree without faults.
        kind: kind of its value.
        kinds: kinds of the measures that it reads.
        again: works the formula out slowly; called where the function fails or its result is not finite.
    """
    writer = Writer(kinds)
    tree = folded(tree)
    lines = writer.read_inputs([tree])
    source = writer.write(tree)
    if isinstance(kind, Number):
        # inf - inf and nan - nan are nan, so this is true for finite results only, and costs no call.
        lines += [f"result = {source}", "if result - result == 0.0:", "    return result"]
    else:
        lines.append(f"return {source}")
    return cast(Evaluate, build(lines, again))
