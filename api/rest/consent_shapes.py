"""In which form are consents, documents and links answered?"""

from typing import Any

from rest_framework import serializers

from api.accounts.models import SENT_HOW
from quotes.models.consent import DOCUMENTS, MANNERS, OUTCOMES, SHOWN


class GiverShape(serializers.Serializer[Any]):
    name = serializers.CharField(help_text="Empty after the customer was erased.")
    contact = serializers.CharField(help_text="The number or address called.")
    address = serializers.CharField(help_text="Of the network, where it came by a link.")
    agent = serializers.CharField(help_text="The program that it came with.")
    erased_at = serializers.DateTimeField(allow_null=True)


class ConsentShape(serializers.Serializer[Any]):
    """One record. It says everything that its hash is of but who gave it."""

    id = serializers.IntegerField()
    chain = serializers.CharField(help_text="The quote's number.")
    seq = serializers.IntegerField()
    quote = serializers.IntegerField()
    job = serializers.IntegerField(allow_null=True, help_text="null: it was given before there was a job.")
    document = serializers.ChoiceField(choices=DOCUMENTS)
    document_id = serializers.IntegerField()
    document_hash = serializers.CharField()
    payer = serializers.CharField()
    outcome = serializers.ChoiceField(choices=OUTCOMES)
    manner = serializers.ChoiceField(choices=MANNERS)
    at = serializers.DateTimeField(help_text="When it was given.")
    created = serializers.DateTimeField(help_text="When it was written down.")
    received_by = serializers.IntegerField(allow_null=True, help_text="Id of who took it down; null: it came by a link.")
    link = serializers.IntegerField(allow_null=True)
    amount = serializers.CharField(help_text="What the document adds to the limit for this payer, before tax.")
    limit_with_tax = serializers.CharField(help_text="All that is authorised after it, with tax.")
    promised_on = serializers.DateField(allow_null=True)
    said = serializers.DictField(help_text="Options ticked, choice about old parts, terms, statement, reason.")
    giver_digest = serializers.CharField(help_text="Salted digest of who gave it; outlasts an erasure.")
    before = serializers.CharField(help_text="Hash of the record before it; zeros for the first.")
    hash = serializers.CharField()


class KnownConsentShape(ConsentShape):
    giver = GiverShape(allow_null=True, required=False, help_text="For estimators and managers.")


class BrokenShape(serializers.Serializer[Any]):
    seq = serializers.IntegerField()
    reason = serializers.CharField()


class PayerAnswerShape(serializers.Serializer[Any]):
    payer = serializers.CharField()
    limit_with_tax = serializers.CharField(help_text="What this payer answers for at most; without options unless some stand.")
    outcome = serializers.ChoiceField(choices=OUTCOMES, allow_null=True, help_text="The latest answer; null: none yet.")


class ConsentsShape(serializers.Serializer[Any]):
    """Every record under the number of a quote, the earliest first, and whether the chain holds."""

    number = serializers.CharField()
    state = serializers.CharField(help_text="Of the quote that was asked for.")
    payers = PayerAnswerShape(many=True, help_text="Whose consent to this quote is asked for.")
    intact = serializers.BooleanField()
    broken_links = BrokenShape(many=True, help_text="Records that do not follow, or do not say any more what was hashed.")
    consents = KnownConsentShape(many=True)


class AnsweredShape(serializers.Serializer[Any]):
    """What an answer did."""

    state = serializers.CharField(help_text="Of the quote.")
    consent = ConsentShape()
    job = serializers.IntegerField(allow_null=True, help_text="Id of the job; null while a consent is missing.")
    waits_for = serializers.ListField(child=serializers.CharField(), help_text="Payers whose consent is missing.")


class DocumentShape(serializers.Serializer[Any]):
    """The document with its hash: SHA-256 of the document as JSON with sorted names and no spaces, in UTF-8."""

    document = serializers.DictField(help_text="Texts, whole numbers, true and false, lists and objects.")
    document_hash = serializers.CharField()


class LinkShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    prefix = serializers.CharField(help_text="The first letters of its secret; nothing can be opened with them.")
    document = serializers.ChoiceField(choices=SHOWN)
    document_id = serializers.IntegerField()
    revision = serializers.IntegerField()
    document_hash = serializers.CharField()
    payer = serializers.CharField()
    sent_how = serializers.ChoiceField(choices=SENT_HOW)
    created = serializers.DateTimeField()
    expires = serializers.DateTimeField()
    revoked = serializers.DateTimeField(allow_null=True)
    reads = serializers.IntegerField(help_text="How often it was opened; evidence of nothing.")
    last_read = serializers.DateTimeField(allow_null=True)
    token = serializers.CharField(allow_null=True, help_text="The secret; told once, to whoever makes the link, else null.")


class OwnAnswerShape(serializers.Serializer[Any]):
    outcome = serializers.ChoiceField(choices=OUTCOMES)
    at = serializers.DateTimeField()
    document_hash = serializers.CharField()
    hash = serializers.CharField(help_text="Of the record.")


class OwnerDocumentShape(DocumentShape):
    """What a link opens."""

    kind = serializers.ChoiceField(choices=SHOWN)
    state = serializers.CharField()
    payer = serializers.CharField()
    statement = serializers.CharField(help_text="What is affirmed by an electronic consent; empty where none is asked for.")
    answers = OwnAnswerShape(many=True, help_text="What this payer has answered to it so far.")


class OwnerAnsweredShape(serializers.Serializer[Any]):
    """What an answer by a link did. Keep it: the hash stands in the shop's record."""

    state = serializers.CharField()
    outcome = serializers.ChoiceField(choices=OUTCOMES)
    at = serializers.DateTimeField()
    document_hash = serializers.CharField()
    hash = serializers.CharField(help_text="Of the record.")
    waits_for = serializers.ListField(child=serializers.CharField())
