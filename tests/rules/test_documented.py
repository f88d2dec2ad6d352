"""What a client, an operator or the next developer must know is written down, and what is written down is there."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from rest_framework import exceptions, serializers

from api.accounts import roles, tokens
from api.environment import _PARSERS
from api.rest.base import NetworkView, ShopView
from api.rest.codes import CODES
from api.rest.contents_words import WORDS
from api.rest.cost_base import EDITION_KINDS
from costbase.calc.formula import faults as formula_faults
from costbase.calc.money import ROUNDED_WHERE
from tests.rules.sources import ROOT, Found, faults, found, modules, placed, text_files
from tests.rules.test_routes import SCOPED, Route

PAGE = "DEVELOPERS.md"

# --- Error codes

# Calls whose first or second argument is a code.
FIRST = {"Problem", "Fault", "refuse", "_refuse", "_of_code"}
SECOND = {"ErrorDetail", "_at"}
CONSOLE = {"api/accounts/people.py:BadMemberError": "an operator meets it at the console; no address makes members"}
# A status of REST framework's own exceptions that has no class: its throttles, should a deployment switch them on.
OF_STATUS = {"too_many_requests"}


def _literal(nodes: list[ast.expr]) -> Iterator[str]:
    yield from (node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str))


def _codes_of(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.ClassDef):
        lines = [line for line in node.body if isinstance(line, ast.Assign)]
        yield from _literal([line.value for line in lines if ast.unparse(line.targets[0]) == "code"])
    elif isinstance(node, ast.Call):
        called = ast.unparse(node.func).split(".")[-1]
        yield from _literal([word.value for word in node.keywords if word.arg == "code"])
        yield from _literal(node.args[:1] if called in FIRST else node.args[1:2] if called in SECOND else [])


def raised() -> Iterator[Found]:
    for module in modules():
        for node, name in placed(module):
            for code in _codes_of(node):
                inner = node.name if isinstance(node, ast.ClassDef) else name
                yield found(module, node, inner, code)


def of_formulas() -> set[str]:
    """Codes of a formula that cannot be worked out; they stand in constants."""
    return {value for name, value in vars(formula_faults).items() if name.isupper() and isinstance(value, str)}


def of_framework() -> set[str]:
    """Codes that REST framework raises for us."""
    kinds = [kind for kind in vars(serializers).values() if isinstance(kind, type)]
    fields = [kind for kind in kinds if issubclass(kind, serializers.Field)]
    errors = [kind for kind in vars(exceptions).values() if isinstance(kind, type)]
    codes = {str(kind.default_code) for kind in errors if issubclass(kind, exceptions.APIException)}
    return codes | {code for field in fields for code in field.default_error_messages} | OF_STATUS


def of_errors() -> set[str]:
    """Codes in the tables of `api/rest/errors.py`, the one file that turns what others raise into codes."""
    (module,) = modules("api/rest/errors.py")
    return {text for node, _ in placed(module) if isinstance(node, ast.expr) for text in _literal([node])}


def test_every_code_that_can_be_raised_is_documented() -> None:
    missing = [place for place in raised() if place.words and place.words not in CODES]
    fix = "add the code with its status and meaning to api/rest/codes.py:"
    assert not (told := faults(missing, CONSOLE, fix)), told


def test_every_code_of_a_formula_that_fails_is_documented() -> None:
    missing = sorted(of_formulas() - set(CODES))
    assert not missing, f"add to api/rest/codes.py, or wrap FormulaError in a refusal that has a code there: {missing}"


def test_every_documented_code_can_be_met() -> None:
    met = {place.words for place in raised()} | of_formulas() | of_framework() | of_errors()
    met |= {f"token_{code}" for code in tokens._REFUSALS}
    idle = sorted(set(CODES) - met)
    assert not idle, f"nothing raises these any more; take them out of api/rest/codes.py: {idle}"


# --- DEVELOPERS.md

OF_SHOPS = (roles.ESTIMATOR, roles.MANAGER, roles.ANALYST)
OF_DJANGO = {"migrate", "makemigrations", "spectacular"}
READ_ENVIRONMENT = {
    "api/environment.py:read": "the home of settings",
    "api/embedded/binaries.py:postgres_binaries": "PG_BIN, before there are settings",
    "api/embedded/child.py": "hands the PATH on to a server that it starts",
    "api/embedded/pytest_plugin.py": "puts the addresses of the tests' servers into it",
    "api/management/demo_servers.py:_start": "puts the addresses of the demo's servers into it",
    "api/management/children.py:_without": "hands it on to children, less what they need not know",
    "api/celery.py": "names the settings module, as Django wants it",
    "api/wsgi.py": "names the settings module, as Django wants it",
}


@cache
def page() -> str:
    return (ROOT / PAGE).read_text(encoding="utf-8")


def table(heading: str) -> list[list[str]]:
    """The rows of the first table below a heading of the page, cells as they are written."""
    below = re.split(rf"^#+ (?:\d+\. )?{re.escape(heading)}$", page(), flags=re.MULTILINE)
    assert len(below) == 2, f"{PAGE} has no section '{heading}', or several"
    rows = re.search(r"(?:^\|.*\|\n)+", below[1], flags=re.MULTILINE)
    assert rows is not None, f"section '{heading}' of {PAGE} has no table"
    cells = [[cell.strip() for cell in row.strip("|").split("|")] for row in rows[0].splitlines()]
    return cells[2:]


def test_every_setting_that_is_read_stands_in_the_page() -> None:
    documented = {row[0].strip("`") for row in table("Settings")}
    read = set(_PARSERS) | {"PG_BIN"}
    assert documented == read, f"section Settings of {PAGE}: missing {read - documented}, read no more {documented - read}"


def test_nothing_else_reads_the_environment() -> None:
    places = [
        found(module, node, name)
        for module in modules()
        for node, name in placed(module)
        if isinstance(node, ast.Attribute) and node.attr in ("environ", "getenv") and ast.unparse(node.value) == "os"
    ]
    fix = "read it in api/environment.py, which checks it and says what was expected:"
    assert not (told := faults(places, READ_ENVIRONMENT, fix)), told


def test_every_command_stands_in_the_page() -> None:
    commands = {Path(module.path).stem for module in modules("api/management/commands") if module.text.strip()}
    documented = {re.split(r"[ `]", row[0].strip("`").removeprefix("manage.py "))[0] for row in table("Commands")}
    ours = documented - OF_DJANGO
    assert ours == commands, f"section Commands of {PAGE}: missing {commands - ours}, gone {ours - commands}"


def test_every_benchmark_stands_in_the_page() -> None:
    benchmarks = {path.stem for path in (ROOT / "tests" / "benchmarks").glob("bench_*.py")}
    documented = {word for row in table("Running tests, benchmarks") for word in re.findall(r"\bbench_\w+", row[0])}
    assert documented == benchmarks, f"in the table of benchmarks of {PAGE}: {documented ^ benchmarks}"


def test_the_page_says_of_every_address_who_may_what() -> None:
    said = {row[0].strip("`"): dict(zip(OF_SHOPS, row[1:], strict=True)) for row in table("Roles")}
    wanted = {_short(route): _allowed(route) for route in SCOPED if issubclass(route.view_class or object, ShopView)}
    rows = [f"| `{name}` | {' | '.join(words.values())} |" for name, words in wanted.items() if said.get(name) != words]
    assert not rows, f"in section Roles of {PAGE}, write:\n" + "\n".join(rows)
    gone = sorted(set(said) - set(wanted))
    assert not gone, f"in section Roles of {PAGE}, take out {gone}"


def _allowed(route: Route) -> dict[str, str]:
    by_method = route.view_class.roles  # type: ignore[union-attr]
    return {role: " ".join(method for method, may in by_method.items() if role in may) or "-" for role in OF_SHOPS}


def _short(route: Route) -> str:
    below = re.sub(r"^api/v1/(shops|networks)/<slug:(shop|network)>/", "", route.pattern)
    return re.sub(r"<\w+:(\w+)>", lambda match: "{" + match[1].removesuffix("_id") + "}", below)


def test_the_page_says_what_a_networks_people_may_at_each_of_its_addresses() -> None:
    said = {row[0].strip("`"): row[1] for row in table("Roles in a network")}
    networks = [route for route in SCOPED if issubclass(route.view_class or object, NetworkView)]
    wanted = {_short(route): " ".join(route.view_class.roles) for route in networks}  # type: ignore[union-attr]
    rows = [f"| `{name}` | {words} |" for name, words in wanted.items() if said.get(name) != words]
    assert not rows, f"in section Roles in a network of {PAGE}, write:\n" + "\n".join(rows)
    assert not (gone := sorted(set(said) - set(wanted))), f"in section Roles in a network of {PAGE}, take out {gone}"
    assert set(roles.NETWORK_ROLES) == {roles.NETWORK_MANAGER}


def test_every_field_of_an_edition_has_its_sentence_in_the_description_of_the_api() -> None:
    fields = {kind.kind: [field.name for field in kind.fields] for kind in EDITION_KINDS.values()}
    said = {kind: list(words) for kind, words in WORDS.items()}
    assert {kind: sorted(names) for kind, names in said.items()} == {kind: sorted(names) for kind, names in fields.items()}, (
        "write a sentence for each field in api/rest/contents_words.py, and take out those of fields that are gone"
    )


BACKTICKED = re.compile(r"`+([\w./*{},-]+\.(?:py|md|toml|csv|json|npy|yaml|yml|lock))(?::\w+)?`+")


def test_every_file_that_a_text_names_is_there() -> None:
    """Files move; sentences that point at them are forgotten. What begins with a slash is an address of the API."""
    gone = [
        f"{name}: {path}"
        for name in text_files()
        if name.endswith((".py", ".md", ".toml"))
        for path in sorted(set(BACKTICKED.findall((ROOT / name).read_text(encoding="utf-8"))))
        if "/" in path and not path.startswith("/") and not _is_there(path, name)
    ]
    assert not gone, "texts name files that are not there:\n" + "\n".join(gone)


def _is_there(path: str, name: str) -> bool:
    return "{" in path or bool(list(ROOT.glob(path))) or bool(list((ROOT / name).parent.glob(path)))


def test_the_moments_of_rounding_name_functions_of_the_money_module() -> None:
    (module,) = modules("costbase/calc/money.py")
    functions = {node.name for node, _ in placed(module) if isinstance(node, ast.FunctionDef)}
    named = {name.strip() for moment in ROUNDED_WHERE for name in _last_brackets(moment).split(",")}
    assert named <= functions


def _last_brackets(moment: str) -> str:
    inside = re.findall(r"\(([a-z_, ]+)\)", moment)
    assert inside, f"say by which function it is rounded: {moment}"
    return str(inside[-1])


def test_every_module_of_the_core_says_which_question_it_answers() -> None:
    core = [module for module in modules("costbase/calc", "quotes/calc") if module.text.strip()]
    silent = [module.path for module in core if not ast.get_docstring(module.tree)]
    assert not silent, f"begin with a docstring that names the question the module answers: {silent}"
