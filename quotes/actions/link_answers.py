"""What is somebody told who answers by an owner's link as before: presses twice, or opens an old page again?

The same as the first time, and nothing is recorded again. Whoever answers holds the link, so that two clicks at the same moment
stand one after the other. An answer counts as given already while it is the latest one to its document, by whichever way.
"""

from datetime import datetime

from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.models import Consent, LinkAnswer


def answered_before(
    *, shop: Shop, link_id: int, document: str, document_id: int, payer: str, fingerprint: str
) -> LinkAnswer | None:
    """What was told to the same answer by the same link, if that is the payer's latest answer to the document.

    Args:
        shop: whose scope is open.
        link_id: of the held link.
        document: which kind of document the link is for.
        document_id: which one.
        payer: for whom it answers.
        fingerprint: of the request, with the link's secret in it.
    """
    assert_scope(shop.pk)
    answers = Consent.objects.for_shop(shop).filter(document=document, document_id=document_id, payer=payer)
    latest = answers.order_by("-seq").values("pk", "link_id").first()
    if latest is None or latest["link_id"] != link_id:
        return None
    return LinkAnswer.objects.for_shop(shop).filter(consent_id=latest["pk"], fingerprint=fingerprint).first()


def keep_answer(*, shop: Shop, consent: Consent, fingerprint: str, answer: str, by: Actor, now: datetime) -> None:
    """Keeps what was told to an answer by a link, beside its record."""
    assert_scope(shop.pk)
    LinkAnswer(shop=shop, consent=consent, fingerprint=fingerprint, answer=answer, created=now).save(force_insert=True)
