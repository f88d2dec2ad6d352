"""What can go wrong in a calculation, and how is it told?

Every refusal of the core is a `CalculationError` with a stable `code`, words that say what was expected, the place in the
input (`field`, a path such as ``sections/0/length``) and the offending value. Only the REST layer turns codes into answers.
"""

from collections.abc import Iterable


class CalculationError(Exception):
    """One refusal of the core.

    Attributes:
        code: stable name of the kind of refusal; subclasses fix it.
        message: a sentence that says what was expected.
        field: path of the offending input below the request, or "".
        value: the offending value, for the log and the answer.
    """

    code = "calculation_error"

    def __init__(self, message: str, *, field: str = "", value: object = None, code: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.field = field
        self.value = value
        if code:
            self.code = code

    def under(self, prefix: str) -> "CalculationError":
        """The same refusal with its field below `prefix`; used where a part is checked inside a whole."""
        self.field = f"{prefix}/{self.field}" if self.field else prefix
        return self


class CalculationFaults(CalculationError):
    """Every refusal of one input, so that a person sees all of them at once."""

    code = "several_faults"

    def __init__(self, faults: Iterable[CalculationError]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.message for fault in self.faults))


def raise_faults(faults: list[CalculationError]) -> None:
    """Raises nothing for an empty list, the fault itself for one, all of them together for more."""
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise CalculationFaults(faults)
