"""How are editions read that the cost base keeps as data for those who understand them?"""

from costbase.exchange.staging import Readers
from quotes.calc.severity import SeverityRules


def severity_contents(contents: object) -> dict[str, object]:
    """The normal form of severity rules.

    Raises:
        CalculationFaults: everything that is missing, unknown or not as expected, with its path.
    """
    return SeverityRules.from_contents(contents).contents()


READERS: Readers = {"severity": severity_contents}
