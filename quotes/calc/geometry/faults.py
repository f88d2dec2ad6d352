"""Which kinds of refusal do roofs and scopes know, and how are words and labels refused?"""

from costbase.calc.errors import CalculationError
from quotes.calc.geometry.roof import nearest

LONGEST_LABEL = 60


class GeometryError(CalculationError):
    """A roof or a scope that cannot be worked out."""

    code = "bad_geometry"


class OutOfRangeError(GeometryError):
    """A size or count that no coach has."""

    code = "out_of_range"


class UnknownKindError(GeometryError):
    """A word that is none of the known kinds."""

    code = "unknown_kind"


class ImpossibleShapeError(GeometryError):
    """Sizes that are each possible but cannot go together."""

    code = "impossible_shape"


class OpeningPlaceError(GeometryError):
    """An opening that is not wholly on its roof section."""

    code = "opening_off_roof"


class OverlapError(GeometryError):
    """Two openings that take the same place."""

    code = "openings_overlap"


class DuplicateLabelError(GeometryError):
    """One label for two things that others point to by it."""

    code = "duplicate_label"


class JointError(GeometryError):
    """A joint between ends that cannot meet."""

    code = "bad_joint"


class ScopeError(GeometryError):
    """A scope that does not lie on the roof."""

    code = "bad_scope"


def unknown_word(word: str, known: tuple[str, ...], field: str) -> list[CalculationError]:
    """The fault of a word that is not among the known ones, with the nearest of them."""
    if word in known:
        return []
    return [UnknownKindError(f"unknown {field.replace('_', ' ')} {word!r}{nearest(word, known)}", field=field, value=word)]


def bad_labels(labels: list[str], pointer: str) -> list[CalculationError]:
    """A fault for every label that is blank, too long or used before; things point to each other by label."""
    faults: list[CalculationError] = []
    for index, label in enumerate(labels):
        field = f"{pointer}/{index}/label"
        if not label.strip() or len(label) > LONGEST_LABEL:
            words = f"expected a label of 1 to {LONGEST_LABEL} characters"
            faults.append(OutOfRangeError(words, field=field, value=label))
        elif label in labels[:index]:
            words = f"label {label!r} is used twice: expected a label of its own for each"
            faults.append(DuplicateLabelError(words, field=field, value=label))
    return faults


def too_many(count: int, most: int, things: str, *, field: str) -> list[CalculationError]:
    """The fault of a list that no coach is long enough for."""
    if count <= most:
        return []
    return [OutOfRangeError(f"expected at most {most} {things}, not {count}", field=field, value=count)]
