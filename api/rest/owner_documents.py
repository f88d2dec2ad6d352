"""Which kinds of document can an owner's link open? One entry a kind; `owner_kinds.py` says what a kind has to know."""

from collections.abc import Mapping

from api.rest import owner_change_orders, owner_dates, owner_found, owner_quotes, owner_settlements, owner_steps
from api.rest.owner_kinds import OwnerDocument

DOCUMENTS: Mapping[str, OwnerDocument] = {
    "quote": owner_quotes.DOCUMENT,
    "change_order": owner_change_orders.DOCUMENT,
    "settlement": owner_settlements.DOCUMENT,
    "date": owner_dates.DOCUMENT,
    "step": owner_steps.DOCUMENT,
    "found_note": owner_found.DOCUMENT,
}
"""Kind, as `quotes.models.consent.SHOWN` names it -> what it does."""
