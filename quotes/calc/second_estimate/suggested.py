"""Which of our lines may a line of theirs be about? A suggestion, never more: whoever compares says which it is."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from costbase.calc.units import round_half_up
from quotes.calc.second_estimate.lines import OurLine, TheirLine

MOST_SUGGESTIONS = 3
# Fewer words in common are chance: one of five at least.
LEAST_SCORE = 0.2
SAME_ASSEMBLY = "same assembly"
SAME_WORDS = "words in common"

_WORD = re.compile(r"[a-z]{3,}")
_EMPTY = frozenset({"and", "the", "with", "for", "per", "new", "all", "incl", "including", "roof"})
_SCORE_PLACES = 2


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A line of ours, why it is suggested, and a score from 0 to 1."""

    ref: str
    why: str
    score: float


def suggestions(their: TheirLine, ours: Sequence[OurLine]) -> tuple[Suggestion, ...]:
    """Lines of ours that one of theirs may be about, the likeliest first; at most three unless they are of one assembly.

    Lines of the assembly that the estimator hints at come first, with score 1, and then nothing else is looked for. Otherwise
    the score is the share of words that description and name have in common; of the hinted phase alone where any line of it
    has some.

    Args:
        their: a line of theirs.
        ours: the lines of the quote and its hidden components.

    Returns:
        Scores half up to two decimals, each at least a fifth.

    Source: share of common words, P. Jaccard, 1912 (from memory); the least score is common practice, none published.
    """
    if their.assembly:
        same = [line for line in ours if line.assemblies == (their.assembly,)]
        if same:
            return tuple(Suggestion(line.ref, SAME_ASSEMBLY, 1.0) for line in same)
    wanted = _words(their.description)
    scored = [(_score(wanted, line), line) for line in ours]
    found = [(score, line) for score, line in scored if score >= LEAST_SCORE]
    in_phase = [(score, line) for score, line in found if their.phase and line.phase == their.phase]
    # sorted() is stable, so that the earlier of equal ones comes first.
    best = sorted(in_phase or found, key=lambda each: -each[0])[:MOST_SUGGESTIONS]
    return tuple(Suggestion(line.ref, SAME_WORDS, score) for score, line in best)


def _score(wanted: frozenset[str], line: OurLine) -> float:
    own = _words(line.name)
    together = wanted | own
    return round_half_up(len(wanted & own) / len(together), _SCORE_PLACES) if together else 0.0


def _words(text: str) -> frozenset[str]:
    """The words that say something, in the singular as far as a last s tells."""
    found = (word for word in _WORD.findall(text.casefold()) if word not in _EMPTY)
    return frozenset(word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word for word in found)
