"""What does the text of a formula say? Text in, a tree of parts out, or every fault that keeps it from being read.

The tree comes from Python's own parser, run only on texts that `scan` has passed, and is copied node by node from an
allow-list: what is not on the list is a fault with its place, never something that could be executed.
"""

import ast
from collections.abc import Callable

from costbase.calc.formula.faults import FormulaError, Span
from costbase.calc.formula.parts import FUNCTIONS, Part
from costbase.calc.formula.scan import MAX_LEVELS, scan
from costbase.calc.units import UNITS

_ARITHMETIC: dict[type[ast.operator], str] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.Pow: "**",
}
_COMPARISONS: dict[type[ast.cmpop], str] = {
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
    ast.NotEq: "!=",
}
_FLAT = str.maketrans("\t\r\n", "   ")


def parse(text: str) -> tuple[Part, list[FormulaError]]:
    """The tree of a formula and every fault of reading it; with faults, the tree has "fault" parts in their places.

    Any text is answered, in bounded time and stack: at most 1,000 characters, 60 levels and 200 parts are looked at.
    """
    if not isinstance(text, str):
        return Part("fault"), [FormulaError(f"expected text, not {type(text).__name__}", (0, 0), value=text)]
    errors = scan(text)
    if errors:
        return Part("fault", span=(0, len(text))), errors
    try:
        # The bracket keeps line breaks and a leading space from mattering; scan has proved that the text cannot close it.
        tree = ast.parse(f"({text.translate(_FLAT)})", mode="eval").body
    except SyntaxError as error:
        return Part("fault", span=(0, len(text))), [_unreadable(error, text)]
    except (RecursionError, MemoryError) as error:
        fault = FormulaError("the formula is nested too deeply to be read here", (0, len(text)))
        fault.__cause__ = error
        return Part("fault", span=(0, len(text))), [fault]
    reader = _Reader()
    return reader.read(tree, 0), reader.errors


def _unreadable(error: SyntaxError, text: str) -> FormulaError:
    start = min(max((error.offset or 0) - 2, 0), len(text))
    end = min(max((error.end_offset or 0) - 2, start), len(text))
    found = text[start:end].strip()
    where = f"{found[:40]} does not fit here" if found else "something is missing here"
    fault = FormulaError(f"{where}: a formula is written like ceil(2 * roof_length / foot) or a if b > 0 else c", (start, end))
    fault.__cause__ = error
    return fault


class _Reader:
    """Copies one tree of `ast` into parts, collecting faults."""

    def __init__(self) -> None:
        self.errors: list[FormulaError] = []
        self.readers: dict[type[ast.expr], Callable[..., Part]] = {
            ast.Constant: self.constant,
            ast.Name: self.name,
            ast.UnaryOp: self.unary,
            ast.BinOp: self.binary,
            ast.Compare: self.compare,
            ast.BoolOp: self.logic,
            ast.IfExp: self.conditional,
            ast.Call: self.call,
        }

    def read(self, node: ast.expr, level: int) -> Part:
        if level > MAX_LEVELS:
            return self.fault(node, f"a formula may be nested {MAX_LEVELS} levels deep")
        reader = self.readers.get(type(node))
        if reader is not None:
            return reader(node, level + 1)
        if isinstance(node, ast.Tuple):
            place = node.elts[0] if node.elts else node
            return self.fault(place, "a comma stands only between the values of a function")
        return self.fault(node, "this is not part of the language of formulas")

    def fault(self, node: ast.expr, reason: str) -> Part:
        span = _span(node)
        self.errors.append(FormulaError(reason, span))
        return Part("fault", span=span)

    def constant(self, node: ast.Constant, level: int) -> Part:
        value, span = node.value, _span(node)
        if isinstance(value, bool):
            return Part("flag", number=float(value), span=span)
        if isinstance(value, str):
            return Part("option", word=value, span=span)
        if isinstance(value, int | float):
            return Part("number", number=float(value), span=span)
        return self.fault(node, "this is not part of the language of formulas")

    def name(self, node: ast.Name, level: int) -> Part:
        if node.id in FUNCTIONS:
            return self.fault(node, f"{node.id} is a function: write {node.id}(...)")
        return Part("unit" if node.id in UNITS else "name", word=node.id, span=_span(node))

    def unary(self, node: ast.UnaryOp, level: int) -> Part:
        op = {ast.Not: "not", ast.UAdd: "plus", ast.USub: "negate"}.get(type(node.op))
        if op is None:
            return self.fault(node, "this is not part of the language of formulas")
        return Part(op, (self.read(node.operand, level),), span=_span(node))

    def binary(self, node: ast.BinOp, level: int) -> Part:
        op = _ARITHMETIC.get(type(node.op))
        if op is None:
            return self.fault(node, "this is not part of the language of formulas")
        # A sum of many terms leans to the left without being any harder to read, so its left side is on the same level.
        left = self.read(node.left, level - 1 if isinstance(node.left, ast.BinOp) else level)
        if op == "**":
            return self.power(node, left)
        return Part(op, (left, self.read(node.right, level)), span=_span(node))

    def power(self, node: ast.BinOp, base: Part) -> Part:
        power = node.right.value if isinstance(node.right, ast.Constant) else None
        if isinstance(power, bool) or not isinstance(power, int) or not 1 <= power <= 4:
            return self.fault(node.right, "a power is written 1, 2, 3 or 4")
        return Part("**", (base,), number=float(power), span=_span(node))

    def compare(self, node: ast.Compare, level: int) -> Part:
        ops = [_COMPARISONS.get(type(op), "") for op in node.ops]
        if "" in ops:
            return self.fault(node, "compare with < <= > >= == or !=")
        parts = tuple(self.read(part, level) for part in (node.left, *node.comparators))
        return Part("compare", parts, word=" ".join(ops), span=_span(node))

    def logic(self, node: ast.BoolOp, level: int) -> Part:
        parts = tuple(self.read(part, level) for part in node.values)
        return Part("and" if isinstance(node.op, ast.And) else "or", parts, span=_span(node))

    def conditional(self, node: ast.IfExp, level: int) -> Part:
        parts = tuple(self.read(part, level) for part in (node.test, node.body, node.orelse))
        return Part("if", parts, span=_span(node))

    def call(self, node: ast.Call, level: int) -> Part:
        parts = tuple(self.read(part, level) for part in node.args)
        if not isinstance(node.func, ast.Name):
            return self.fault(node.func, "only a function can stand before a bracket: write * to multiply")
        name = node.func.id
        if name not in FUNCTIONS:
            return self.fault(node.func, _no_function(name))
        fewest, most = FUNCTIONS[name]
        if node.keywords or not fewest <= len(parts) <= most:
            wanted = {
                1: "one value",
                2: f"{fewest} to {most} values",
                3: "three values: the value, the least, the most",
            }
            return self.fault(node, f"{name} takes {wanted[fewest]}")
        return Part(name, parts, span=_span(node))


def _no_function(name: str) -> str:
    if name in UNITS:
        return f"{name} is a unit: write 3 * {name}"
    return f"{name} is no function: there are {', '.join(FUNCTIONS)}"


def _span(node: ast.expr) -> Span:
    """The node's place in the text; one character less than in the bracketed copy, and all of it ASCII on one line."""
    return max(node.col_offset - 1, 0), max((node.end_col_offset or node.col_offset) - 1, 0)
