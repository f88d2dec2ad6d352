"""What does a consent say, and does its chain still hold together?"""

from quotes.calc.consent.chain import FIRST, BrokenLink, broken_links, canonical, document_hash, record_hash

__all__ = ["FIRST", "BrokenLink", "broken_links", "canonical", "document_hash", "record_hash"]
