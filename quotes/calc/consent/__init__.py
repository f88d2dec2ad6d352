"""What does a consent say, does its chain still hold together, and what needs no new one?"""

from quotes.calc.consent.chain import FIRST, BrokenLink, broken_links, canonical, document_hash, record_hash
from quotes.calc.consent.policy import (
    DISCLAIMER,
    LABELS,
    OverrunTemplate,
    TemplateCurrencyError,
    TemplateError,
    as_row,
    highest_without_consent,
    overrun_limit,
    shipped_templates,
    template_from,
)
from quotes.calc.consent.terms import ELECTRONIC, OLD_PARTS, TERMS, VERSION

__all__ = [
    "DISCLAIMER",
    "ELECTRONIC",
    "FIRST",
    "LABELS",
    "OLD_PARTS",
    "TERMS",
    "VERSION",
    "BrokenLink",
    "OverrunTemplate",
    "TemplateCurrencyError",
    "TemplateError",
    "as_row",
    "broken_links",
    "canonical",
    "document_hash",
    "highest_without_consent",
    "overrun_limit",
    "record_hash",
    "shipped_templates",
    "template_from",
]
