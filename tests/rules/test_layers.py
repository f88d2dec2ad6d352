"""What no module may be called, hold or hide.

Directions between folders are in pyproject.toml, and migrations have tests of their own beside this file.
"""

import ast
import io
import re
import tokenize
from collections.abc import Iterator

import pytest

from tests.rules.sources import ROOT, Found, Module, faults, found, modules, placed, text_files

EVERYWHERE = modules("costbase", "quotes", "api", "tests", "manage.py")
CALC = modules("costbase/calc", "quotes/calc")

NO_SUBJECT = re.compile(r"(^|/)(services?|utils?|helpers?|common|misc)(/|\.py$)")
MOST_LINES = 400
# Tables of data in Python: a reader looks one line up and never reads them through.
DATA = {
    "costbase/calc/contents_table.py": "fields of every kind of edition",
    "costbase/calc/measures_table.py": "every measure with its definition",
    "costbase/calc/unit_table.py": "every unit with its factor",
}
SIGNALS = {"receiver", "pre_save", "post_save", "pre_delete", "post_delete", "m2m_changed", "pre_init", "post_init"}
# An ignore says what it ignores, so that it stops hiding the next fault of another kind.
BARE_IGNORES = re.compile(r"#\s*type:\s*ignore(?!\[[a-z])|#\s*noqa(?!:\s*[A-Z]+[0-9])|#\s*(ruff|flake8|mypy):|#\s*pragma", re.I)
UNFINISHED = re.compile(r"\b(TODO|FIXME|XXX|HACK|WIP|TBD)\b|NotImplemented\b(?!Error)")


def comments(module: Module) -> Iterator[tuple[int, str]]:
    for token in tokenize.generate_tokens(io.StringIO(module.text).readline):
        if token.type == tokenize.COMMENT:
            yield token.start[0], token.string


def commented(pattern: re.Pattern[str]) -> Iterator[Found]:
    for module in EVERYWHERE:
        for line, text in comments(module):
            if pattern.search(text):
                yield Found(module.path, line, module.path, text)


def test_a_module_is_named_after_its_subject() -> None:
    named = [path for path in text_files() if NO_SUBJECT.search(path)]
    assert not named, f"name it after what it holds, or move its functions to where they are used: {named}"


@pytest.mark.parametrize("folder", ["costbase", "quotes", "api"])
def test_no_module_is_longer_than_a_reader_can_hold(folder: str) -> None:
    lengths = {module.path: module.text.count("\n") for module in modules(folder)}
    long = {path: lines for path, lines in lengths.items() if lines > MOST_LINES and path not in DATA}
    assert not long, f"past {MOST_LINES} lines a second subject has moved in; give it a module of its own: {long}"


def test_what_is_caught_is_named() -> None:
    """A handler of everything swallows the fault that nobody thought of; one that cleans up and raises again is none."""
    wide = []
    for module in EVERYWHERE:
        for node, name in placed(module):
            if isinstance(node, ast.ExceptHandler) and _catches_all(node) and not _raises_again(node):
                wide.append(found(module, node, name, f"except {ast.unparse(node.type) if node.type else ''}"))
    fix = "catch what you can finish handling, by its name; everything else is the REST layer's:"
    assert not (told := faults(wide, {}, fix)), told


def _catches_all(handler: ast.ExceptHandler) -> bool:
    kinds = handler.type.elts if isinstance(handler.type, ast.Tuple) else [handler.type]
    return any(kind is None or ast.unparse(kind).split(".")[-1] in ("Exception", "BaseException") for kind in kinds)


def _raises_again(handler: ast.ExceptHandler) -> bool:
    last = handler.body[-1]
    return isinstance(last, ast.Raise) and last.exc is None


def test_an_ignore_says_what_it_ignores() -> None:
    fix = "name the code: type: ignore[arg-type], noqa: F401; a rule for a whole file belongs into pyproject.toml:"
    assert not (told := faults(commented(BARE_IGNORES), {}, fix)), told


def test_nothing_is_left_to_do_in_a_comment() -> None:
    assert not (told := faults(commented(UNFINISHED), {}, "do it, or leave it out:")), told


def test_the_core_knows_the_type_of_everything() -> None:
    loose = [
        found(module, node, name)
        for module in CALC
        for node, name in placed(module)
        if (isinstance(node, ast.Name) and node.id == "Any") or (isinstance(node, ast.Attribute) and node.attr == "Any")
    ]
    fix = "say what it is; object where it may be anything, with isinstance before it is used:"
    assert not (told := faults(loose, {}, fix)), told


def test_no_business_hangs_on_a_signal() -> None:
    """Who saves a row should see what else happens. (The queue's own signal at a worker's start is no business.)"""
    hung = [
        found(module, node, name)
        for module in modules()
        for node, name in placed(module)
        if isinstance(node, ast.ImportFrom)
        and (node.module or "").startswith("django")
        and any(alias.name in SIGNALS for alias in node.names)
    ]
    assert not (told := faults(hung, {}, "call the action that it is for, in the action that saves:")), told


def test_rows_are_saved_plainly() -> None:
    saved = [
        found(module, node, name)
        for module in modules("costbase/models", "quotes/models", "api/accounts")
        for node, name in placed(module)
        if isinstance(node, ast.FunctionDef) and node.name in ("save", "delete", "clean", "get_queryset")
    ]
    assert not (told := faults(saved, {}, "put the rule into an action, or into the database as a constraint:")), told


def test_every_rule_of_this_folder_reads_something() -> None:
    assert len(EVERYWHERE) > 200
    assert len(CALC) > 60
    assert {module.path.split("/")[0] for module in EVERYWHERE} == {"costbase", "quotes", "api", "tests", "manage.py"}
    assert (ROOT / "pyproject.toml").is_file()
