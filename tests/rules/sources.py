"""What do the tests of this folder look at? Every module of the project as a syntax tree, and every text file that is ours.

A rule names the homes of what it forbids elsewhere, each with its reason. A home where the thing is not found any more has to
go from the list, so that no list grows into a licence.
"""

import ast
import subprocess
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("costbase", "quotes", "api")
# Fixed-format assets and lists of hashes: nobody writes words into them.
_NO_TEXT = (".lock", ".npy", ".woff2", ".png", ".ico")


@dataclass(frozen=True, slots=True)
class Module:
    """A module: its path from the top of the project, its text and its tree."""

    path: str
    text: str
    tree: ast.Module


@dataclass(frozen=True, slots=True)
class Found:
    """One place of something. `home` is the function it stands in, such as ``costbase/calc/money.py:amount``."""

    path: str
    line: int
    home: str
    words: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.words}"


@cache
def modules(*below: str, migrations: bool = False) -> tuple[Module, ...]:
    """The modules below these places, or of the whole service; migrations only where they are asked for."""
    files = sorted(path for place in below or FOLDERS for path in _files(ROOT / place))
    return tuple(_module(path) for path in files if migrations or "migrations" not in path.parts)


def _files(place: Path) -> Iterator[Path]:
    return iter([place]) if place.is_file() else place.rglob("*.py")


@cache
def _module(path: Path) -> Module:
    text = path.read_text(encoding="utf-8")
    return Module(path.relative_to(ROOT).as_posix(), text, ast.parse(text))


def placed(module: Module) -> Iterator[tuple[ast.AST, str]]:
    """Every node of a module with the name of the function or class around it, "" at the top."""
    return iter(_placed(module.path))


@cache
def _placed(path: str) -> tuple[tuple[ast.AST, str], ...]:
    """Laid out once for all rules, and without a chain of generators as deep as the tree."""
    found: list[tuple[ast.AST, str]] = []

    def walk(node: ast.AST, name: str) -> None:
        for child in ast.iter_child_nodes(node):
            found.append((child, name))
            inner = name
            if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
                inner = f"{name}.{child.name}" if name else child.name
            walk(child, inner)

    walk(_module(ROOT / path).tree, "")
    return tuple(found)


def found(module: Module, node: ast.AST, name: str, words: str = "") -> Found:
    """The place of a node, told in its own words unless others are given."""
    home = f"{module.path}:{name}" if name else module.path
    return Found(module.path, getattr(node, "lineno", 1), home, words or ast.unparse(node))


def names_in(node: ast.AST) -> set[str]:
    """Every name and attribute below a node."""
    inside = list(ast.walk(node))
    return {part.id for part in inside if isinstance(part, ast.Name)} | {
        part.attr for part in inside if isinstance(part, ast.Attribute)
    }


def faults(places: Iterable[Found], homes: Mapping[str, str], fix: str) -> str:
    """What breaks a rule, with its mending; "" where nothing does.

    Args:
        places: where the thing is found.
        homes: where it may be, with the reason: a folder (``costbase/calc/formula/``), a module, or a function of one
            (``costbase/calc/money.py:amount``).
        fix: what to do about any other place.
    """
    used: set[str] = set()
    strays = []
    for place in places:
        home = next((home for home in homes if _is_at(place, home)), None)
        if home is None:
            strays.append(str(place))
        else:
            used.add(home)
    idle = [f"{home}: nothing of the kind is there any more; take it off the list" for home in homes if home not in used]
    thin = [f"{home}: expected a reason in a few words" for home, reason in homes.items() if len(reason.split()) < 3]
    return "\n".join([*([fix] if strays else []), *strays, *idle, *thin])


def _is_at(place: Found, home: str) -> bool:
    if home.endswith("/"):
        return place.path.startswith(home)
    return home in (place.path, place.home)


@cache
def text_files() -> tuple[str, ...]:
    """Paths of every file of ours that holds words: what is tracked and what will be."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split("\0")
    return tuple(name for name in listed if name and not name.endswith(_NO_TEXT) and (ROOT / name).is_file())
