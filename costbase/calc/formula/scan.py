"""May this text be handed to the parser at all?

Python's parser is written for trusted text: deep nesting can overflow its stack and end the process, so characters,
brackets and the number of parts are checked here first, on plain tokens, in one pass over at most 1,000 characters.
"""

import itertools
import keyword
import re
from dataclasses import dataclass

from costbase.calc.formula.faults import FormulaError, Span
from costbase.calc.formula.parts import WORDS

MAX_CHARACTERS = 1000
MAX_LEVELS = 60
MAX_PARTS = 200
MAX_WORD = 60
MAX_DIGITS = 30

_ALLOWED = re.compile(r"[A-Za-z0-9_ \t\r\n.+\-*/()<>=!,'\"]*")
_TOKEN = re.compile(
    r"(?P<space>[ \t\r\n]+)|(?P<number>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?P<tail>[A-Za-z0-9_.]*))|(?P<word>[A-Za-z_][A-Za-z0-9_]*)"
    r"|(?P<option>'[^'\t\r\n]*'|\"[^\"\t\r\n]*\")|(?P<sign>\*\*|//|<=|>=|==|!=|[-+*/<>(),])|(?P<other>.)"
)
_HINTS = {
    "×": "write * to multiply",
    "÷": "write / to divide",
    "−": "write - for minus",
    "^": "write ** for a power",
    "%": "write a share as a number, such as 0.15",
    "‘": "write plain quotes: 'framed'",
    "’": "write plain quotes: 'framed'",
    "“": "write plain quotes: 'framed'",
    "”": "write plain quotes: 'framed'",
    "≤": "write <=",
    "≥": "write >=",
    "≠": "write !=",
    "½": "write 0.5",
    "=": "write == to compare",
    "!": "write not, or != to compare",
    ".": "a name has no parts, and a number has digits around its point",
    "'": "the quote is not closed",
    '"': "the quote is not closed",
    "//": "write floor(a / b)",
    "&": "write and",
    "|": "write or",
}


@dataclass(frozen=True, slots=True)
class Token:
    """One word, number, option or sign of the text."""

    sort: str
    text: str
    span: Span


def scan(text: str) -> list[FormulaError]:
    """Everything that keeps the text from being parsed; an empty list means that the parser is safe with it."""
    if len(text) > MAX_CHARACTERS:
        reason = f"a formula has at most {MAX_CHARACTERS} characters, this one has {len(text)}"
        return [FormulaError(reason, (MAX_CHARACTERS, len(text)))]
    if not _ALLOWED.fullmatch(text):
        return _strange_characters(text)
    tokens: list[Token] = []
    errors: list[FormulaError] = []
    for match in _TOKEN.finditer(text):
        sort = match.lastgroup or "other"
        if sort != "space":
            token = Token(sort, match.group(), match.span())
            tokens.append(token)
            errors.extend(_token_faults(token, match["tail"]))
    return errors + _bracket_faults(tokens) + _count_faults(tokens) + _side_by_side(tokens)


def _strange_characters(text: str) -> list[FormulaError]:
    """One fault for each character outside the allow-list, at its first place."""
    errors: dict[str, FormulaError] = {}
    for place, character in enumerate(text):
        if character not in errors and not _ALLOWED.fullmatch(character):
            hint = _HINTS.get(character, "a formula is written in plain letters, digits and + - * / ( ) < > = ! , . ' \"")
            # In ASCII, which keeps control characters and halves of pairs out of messages and answers.
            errors[character] = FormulaError(f"{character!a} cannot stand in a formula: {hint}", (place, place + 1))
    return list(errors.values())


def _token_faults(token: Token, tail: str | None) -> list[FormulaError]:
    reason = ""
    if token.sort == "other" or token.text == "//":
        reason = f"{token.text} cannot stand here: {_HINTS[token.text]}"
    elif token.sort == "number":
        reason = _number_fault(token.text, tail)
    elif token.sort == "word":
        reason = _word_fault(token.text)
    return [FormulaError(reason, token.span)] if reason else []


def _number_fault(text: str, tail: str | None) -> str:
    if tail:
        return f"{text[:40]} is no number: write plain digits with one point, and * before a unit, such as 2.5 * foot"
    if len(text) > MAX_DIGITS:
        return f"a number has at most {MAX_DIGITS} digits"
    if text[0] == "0" and text[1:2].isdigit():
        return f"{text} begins with 0: write {text.lstrip('0') or '0'}"
    return ""


def _word_fault(text: str) -> str:
    if len(text) > MAX_WORD:
        return f"a name has at most {MAX_WORD} characters"
    if keyword.iskeyword(text) and text not in WORDS:
        return f"{text} cannot stand in a formula"
    return ""


def _bracket_faults(tokens: list[Token]) -> list[FormulaError]:
    open_: list[Token] = []
    for token in tokens:
        if token.text == "(":
            open_.append(token)
            if len(open_) > MAX_LEVELS:
                return [FormulaError(f"brackets may stand {MAX_LEVELS} deep", token.span)]
        elif token.text == ")":
            if not open_:
                return [FormulaError("this bracket was never opened", token.span)]
            open_.pop()
    return [FormulaError("this bracket is never closed", token.span) for token in open_]


def _count_faults(tokens: list[Token]) -> list[FormulaError]:
    if not tokens:
        return [FormulaError("the formula is empty", (0, 0))]
    parts = [token for token in tokens if token.text not in ("(", ")", ",")]
    if len(parts) > MAX_PARTS:
        reason = f"a formula has at most {MAX_PARTS} parts (names, numbers and signs), this one has {len(parts)}"
        return [FormulaError(reason, (parts[MAX_PARTS].span[0], parts[-1].span[1]))]
    return []


def _side_by_side(tokens: list[Token]) -> list[FormulaError]:
    """Faults for two values with nothing between; Python would join two quoted texts without a word."""
    errors = []
    for left, right in itertools.pairwise(tokens):
        called = left.sort == "word" and right.text == "("
        if _ends_value(left) and _starts_value(right) and not called:
            reason = f"nothing stands between {left.text[:40]} and {right.text[:40]}: write * to multiply"
            errors.append(FormulaError(reason, (left.span[0], right.span[1])))
    return errors


def _ends_value(token: Token) -> bool:
    return token.sort in ("number", "option") or token.text == ")" or _is_name(token)


def _starts_value(token: Token) -> bool:
    return token.sort in ("number", "option") or token.text == "(" or _is_name(token)


def _is_name(token: Token) -> bool:
    return token.sort == "word" and (token.text not in WORDS or token.text in ("True", "False"))
