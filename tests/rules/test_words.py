"""Words that have no place here: where and how the project was made, other people's servers, statistics for owners.

The words are put together below from parts, so that this file does not hold what it forbids.
"""

import ast
import re

import pytest

from tests.rules.sources import ROOT, Found, faults, found, modules, placed, text_files


def _host(*parts: str) -> str:
    return re.escape(".".join(parts))


# Folders of a machine on which somebody works, and papers that do not come with the project.
OUTSIDE = re.compile(
    r"(?<![\w.}])/(?:work|home|root|mnt|users)/|\b(?:shared)/|\b(?:contracts|rules|brief|design|style)\.md\b", re.IGNORECASE
)
HOSTS = re.compile(
    "|".join(
        _host(*parts)
        for parts in (
            ("pypi", "org"),
            ("pythonhosted", "org"),
            ("npmjs", "com"),
            ("npmjs", "org"),
            ("debian", "org"),
            ("ubuntu", "com"),
            ("crates", "io"),
            ("docker", "io"),
            ("ghcr", "io"),
            ("golang", "org"),
            ("githubusercontent", "com"),
            ("jsdelivr", "net"),
            ("unpkg", "com"),
        )
    ),
    re.IGNORECASE,
)
# A session of a database or of pytest, a helper at the shop's rates, and the issue of a quote are words of the trade.
HOW_IT_WAS_MADE = re.compile(
    r"\b(?:issue|ticket|session|milestone|sprint)s?\s+(?:no\.?\s*|number\s*)?#?\d+\b"
    r"|\b(?:this|last|next|previous|earlier|later|another)\s+(?:session|sprint|iteration)\b"
    r"|\b(?:helper|worker)\s+(?:session|agent)s?\b|\bsub-?agents?\b|\bthe\s+brief\s+(?:says|asks|wants)\b"
    r"|\bas\s+(?:asked|told|instructed)\s+by\s+the\s+(?:issue|ticket|brief|prompt)\b|\bco-authored-by\b",
    re.IGNORECASE,
)
# To owners: "4 roofs in 5 like this stay inside".
STATISTICS = re.compile(
    r"\bP(?:50|80|90|95)\b|\bpercentiles?\b|\bquantiles?\b|\bconfidence (?:level|interval)\b|\bstandard deviation\b"
)
FOR_OWNERS = ("api/management", "api/papers", "api/pages")

# Words of a licence and of generated files are not ours to choose.
NOT_OURS = ("LICENSE",)


def lines() -> list[tuple[str, int, str]]:
    return [
        (name, number, line)
        for name in text_files()
        if name not in NOT_OURS
        for number, line in enumerate((ROOT / name).read_text(encoding="utf-8").splitlines(), 1)
    ]


@pytest.mark.parametrize(
    ("words", "instead"),
    [
        (OUTSIDE, "the project stands by itself: name a file of it, or say the thing itself"),
        (HOSTS, "no registry or mirror is named; whoever installs knows where from"),
        (HOW_IT_WAS_MADE, "say why the code is as it is; how it came to be is for the history"),
    ],
    ids=["outside", "hosts", "how it was made"],
)
def test_no_text_speaks_of(words: re.Pattern[str], instead: str) -> None:
    said = [f"{name}:{number}: {line.strip()[:120]}" for name, number, line in lines() if words.search(line)]
    assert not said, f"{instead}:\n" + "\n".join(said)


def test_owners_are_told_in_roofs_never_in_statistics() -> None:
    told: list[Found] = []
    for module in modules(*(folder for folder in FOR_OWNERS if (ROOT / folder).is_dir())):
        documentation = {id(text) for node in ast.walk(module.tree) if (text := _documentation(node)) is not None}
        for node, name in placed(module):
            said = node.value if isinstance(node, ast.Constant) and id(node) not in documentation else None
            if isinstance(said, str) and STATISTICS.search(said):
                told.append(found(module, node, name))
    told += [
        Found(name, number, name, line.strip()[:120])
        for name, number, line in lines()
        if name.startswith(FOR_OWNERS) and name.endswith((".html", ".txt", ".svg", ".typ")) and STATISTICS.search(line)
    ]
    assert not (words := faults(told, {}, "say it in roofs: 4 roofs in 5 like this stay inside:")), words


def _documentation(node: ast.AST) -> ast.expr | None:
    """The docstring of a module, class or function, which no owner reads."""
    if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) and node.body:
        first = node.body[0]
        if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
            return first.value
    return None


def test_the_owners_words_of_hidden_work_are_plain() -> None:
    """They stand in the fixtures, and from there on every paper."""
    said = [f"{name}:{number}" for name, number, line in lines() if "owner_words" in line and STATISTICS.search(line)]
    assert not said


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (OUTSIDE, "see " + "/".join(("", "home", "somebody"))),
        (OUTSIDE, "in " + "shared" + "/design"),
        (HOSTS, "https://" + ".".join(("registry", "npmjs", "org"))),
        (HOSTS, ".".join(("deb", "debian", "org"))),
        (HOW_IT_WAS_MADE, "as in issue " + "#12"),
        (HOW_IT_WAS_MADE, "left for the next " + "session"),
        (STATISTICS, "the P80 of the roof"),
    ],
)
def test_the_words_are_recognised(words: re.Pattern[str], text: str) -> None:
    assert words.search(text)


@pytest.mark.parametrize(
    "text", ["the issue of a quote", "a helper at 60.00 an hour", "rail screw #8 x 1 in", "a session's login"]
)
def test_words_of_the_trade_are_left_alone(text: str) -> None:
    assert not any(words.search(text) for words in (OUTSIDE, HOSTS, HOW_IT_WAS_MADE))
