"""How is a review signed off, and opened again?"""

from datetime import datetime

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.models import Review
from quotes.models.review import REVIEW_CAUSES


class ReviewStateError(CalculationError):
    """A review that is signed off already, or is not."""

    code = "review_state"


def held_review(shop: Shop, job_id: int) -> Review | None:
    """The review of a job, held until the scope closes; None where its books were never closed."""
    assert_scope(shop.pk)
    return Review.objects.for_shop(shop).select_for_update(of=("self",)).filter(job_id=job_id).first()


def sign_off(*, shop: Shop, review: Review, cause: str, action: str, by: Actor, now: datetime) -> None:
    """Signs a held review off: its main cause, and what shall be done differently.

    Raises:
        ReviewStateError: it is signed off already, or the cause is none of the table.
    """
    assert_scope(shop.pk)
    if review.state != "open":
        raise ReviewStateError("the review is signed off already; reopen it with a reason first", value=review.state)
    if cause not in REVIEW_CAUSES:
        raise ReviewStateError(f"expected a cause that is one of {', '.join(REVIEW_CAUSES)}", field="cause", value=cause)
    review.state, review.cause, review.action = "signed_off", cause, action
    review.signed_by, review.signed_at = by.person_id, now
    _save(review, ["state", "cause", "action", "signed_by", "signed_at"])


def reopen(*, shop: Shop, review: Review, reason: str, by: Actor) -> None:
    """Opens a held review again; who had signed it, with cause and action, stays in its history.

    Raises:
        ReviewStateError: it is open.
    """
    assert_scope(shop.pk)
    if review.state != "signed_off":
        raise ReviewStateError("the review is open; only one that is signed off is reopened", value=review.state)
    review.state, review.reason = "open", reason
    review.cause, review.action, review.signed_by, review.signed_at = "", "", None, None
    _save(review, ["state", "cause", "action", "signed_by", "signed_at", "reason"])


def _save(review: Review, changed: list[str]) -> None:
    review.version += 1
    review.save(update_fields=[*changed, "version"])
