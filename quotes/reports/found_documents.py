"""What is an owner told of a found note: what was found, what it takes of what is set aside, and what is left of that?

Texts and whole numbers only, so that its hash can be worked out again from what was handed over. It names no person. A note
never changes, so neither does its document.
"""

from typing import Any

from costbase.calc.money import currency
from costbase.models import Shop
from quotes.models import FoundNote, JobComponent
from quotes.reports.change_order_documents import fixed

Row = dict[str, Any]

FORM = 1
"""Raised when the document says other things than before; an older one is kept as it was."""

TERMS = (
    "This was found when the roof was open. It is put right at the price that was agreed for it.",
    "It is paid out of what is set aside for hidden work; the limit stays as it was agreed. Amounts are before tax.",
    "What each part has left of its own is information: all of it may be used for any part.",
    "Nothing has to be answered or signed, and to have read this is no consent.",
)
_PHOTOGRAPH = ("reference", "sha256", "words")


def found_document(shop: Shop, note: FoundNote) -> Row:
    """Everything that the owner is told of a found note, which was read with its job and that job's quote, in one query.

    Args:
        shop: whose scope is open.
        note: as it stands; a correction has everything with the other sign.
    """
    job = note.job
    digits = currency(job.currency).digits
    rows = JobComponent.objects.for_shop(shop).filter(job_id=job.pk)
    words = {(slug, construction): told for slug, construction, told in rows.values_list("slug", "construction", "owner_words")}
    return {
        "kind": "found_note",
        "form": FORM,
        "job": job.number,
        "quote": job.quote.number,
        "number": note.number,
        "takes_back": note.corrects.number if note.corrects is not None else None,
        "found": note.created.isoformat(timespec="seconds"),
        "currency": job.currency,
        "component": note.component,
        "construction": note.construction,
        "words": words[note.component, note.construction],
        "extent": f"{note.extent:.4f}",
        "unit": note.unit,
        "unit_price": f"{note.unit_price:.6f}",
        **{name: fixed(getattr(note, name), digits) for name in ("work", "set_up", "amount")},
        "set_aside": fixed(job.contingency, digits),
        "left": fixed(note.left, digits),
        "left_by_component": [
            {
                "component": one["component"],
                "construction": one["construction"],
                "words": words[one["component"], one["construction"]],
                "left": fixed(one["left"], digits),
            }
            for one in note.left_by_component
        ],
        "note": note.note,
        "photographs": [{name: each.get(name, "") for name in _PHOTOGRAPH} for each in note.photographs],
        "terms": list(TERMS),
    }
