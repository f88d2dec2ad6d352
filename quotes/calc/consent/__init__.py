"""What does a consent say, and does its chain still hold together?"""

from quotes.calc.consent.chain import FIRST, BrokenLink, broken_links, canonical, document_hash, record_hash
from quotes.calc.consent.terms import ELECTRONIC, OLD_PARTS, TERMS, VERSION

__all__ = [
    "ELECTRONIC",
    "FIRST",
    "OLD_PARTS",
    "TERMS",
    "VERSION",
    "BrokenLink",
    "broken_links",
    "canonical",
    "document_hash",
    "record_hash",
]
