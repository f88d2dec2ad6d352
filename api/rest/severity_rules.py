"""Severity rules: by what a survey is read and a roof is graded.

The cost base keeps them as data; the rules themselves are read by whoever grades.
"""

from api.rest.edition_kinds import EditionFilters, EditionKind
from costbase.snapshot import SEVERITY
from quotes.calc.severity import SeverityRules
from quotes.calc.survey.rule_fields import RULE_FIELDS


class SeverityFilters(EditionFilters):
    """There is one set of rules at a time."""


def _read(slug: str, contents: object) -> dict[str, object]:
    return SeverityRules.from_contents(contents).contents()


SEVERITY_RULES = EditionKind("severity-rules", SEVERITY, RULE_FIELDS, _read, SeverityFilters, only_slug=SEVERITY)
