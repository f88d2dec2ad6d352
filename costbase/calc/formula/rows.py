"""How do all formulas of a quote run in one function?

Each measure is read once. A part that several formulas have in common is worked out once, into a local variable, provided
that at least one of them needs it in any case: what stands only in arms of conditionals stays there, behind its guard.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence

from costbase.calc.formula.compile import Writer, build, folded
from costbase.calc.formula.kinds import BadKindError, Choice, Kind, kind_words
from costbase.calc.formula.parts import Part
from costbase.calc.formula.walk import Values

Row = tuple[Part, Kind, Mapping[str, Kind]]


def row_function(rows: Sequence[Row], again: Callable[[Values], object]) -> Callable[[Values], object]:
    """The function that gives the values of many formulas as a tuple.

    Args:
        rows: for each formula its tree, the kind of its value, and the kinds of the measures that it reads.
        again: works all of them out one by one; called where the function fails or a number is not finite.

    Raises:
        BadKindError: a measure is of one kind in one formula and of another in the next.
    """
    trees = [folded(tree) for tree, _, _ in rows]
    writer = Writer(_one_kind_each(rows))
    lines = writer.read_inputs(trees)
    shared = _shared(trees)
    for tree in trees:
        _hoist(tree, shared, writer, lines)
    lines.append(f"row = ({''.join(writer.write(tree) + ', ' for tree in trees)})")
    # One sum over all: finite unless a result is not, or the sum overflows, and then each is looked at by itself.
    summed = [place for place, (_, kind, _) in enumerate(rows) if not isinstance(kind, Choice)]
    results = "row" if len(summed) == len(rows) else f"({''.join(f'row[{place}], ' for place in summed)})"
    lines += [f"if isfinite(total({results})):", "    return row"]
    return build(lines, again)


def _one_kind_each(rows: Sequence[Row]) -> dict[str, Kind]:
    kinds: dict[str, Kind] = {}
    for _, _, inputs in rows:
        for name, kind in inputs.items():
            before = kinds.setdefault(name, kind)
            if type(before) is not type(kind) or (isinstance(kind, Choice) and before != kind):
                reason = f"{name} is {kind_words(before)} in one formula and {kind_words(kind)} in another"
                raise BadKindError(reason, field=name, value=name)
    return kinds


def _eager(part: Part) -> tuple[Part, ...]:
    """The parts that are worked out whenever the part itself is."""
    if part.op in ("if", "and", "or"):
        return part.parts[:1]
    return part.parts[:2] if part.op == "compare" else part.parts


def _shared(trees: Sequence[Part]) -> set[Part]:
    """The parts that are worth a local variable: met twice, and needed in any case at least once."""
    met: Counter[Part] = Counter()
    needed: set[Part] = set()

    def visit(part: Part, in_any_case: bool) -> None:
        if not part.parts:
            return
        met[part] += 1
        # What stands in a part that is kept in a local is not met again with it.
        if met[part] == 1 or (in_any_case and part not in needed):
            if in_any_case:
                needed.add(part)
            first = len(_eager(part))
            for place, inner in enumerate(part.parts):
                visit(inner, in_any_case and place < first)

    for tree in trees:
        visit(tree, True)
    return {part for part in needed if met[part] > 1}


def _hoist(part: Part, shared: set[Part], writer: Writer, lines: list[str]) -> None:
    if part in writer.locals:
        return
    for inner in _eager(part):
        _hoist(inner, shared, writer, lines)
    if part in shared:
        source = writer.write(part)
        local = writer.new_local()
        lines.append(f"{local} = {source}")
        writer.locals[part] = local
