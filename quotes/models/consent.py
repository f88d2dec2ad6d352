"""Who consented to what, by which way, and would it show if somebody had changed that afterwards?

Consents are only ever added, each under the hash of the one before it in its chain: one chain for each quote number, so that
what was authorised for one roof stands in one row of links. Who gave a consent is personal data: the record holds a salted
digest of it, and the words stand in `ConsentGiver`, whose row an erasure empties without breaking the chain.
"""

from django.db import models
from django.db.models import Q

from costbase.models.tables import ShopOwned
from quotes.models.quote import Quote, amount_field

DOCUMENTS = ("quote", "step", "change_order", "settlement", "date")
SHOWN = (*DOCUMENTS, "found_note")
"""What a link can show: whatever is consented to, and what the owner is only told."""
OUTCOMES = ("accepted", "declined")
MANNERS = ("written", "oral", "electronic")


class Consent(ShopOwned):
    """One consent, or its refusal: the union of what the sources of `quotes/calc/consent` ask to be written down.

    `document_id` is of the table that `document` names; `document_hash` is the SHA-256 of the document as it was shown. `payer`
    is the label of a payer of the quote, "owner" for the owner. `amount` is what this document adds to the limit, ex tax;
    `limit_with_tax` what is authorised in all after it, with tax. `said` holds exact words and lists: parts and labour added,
    options ticked, choice about old parts, terms with their version, reason, how the link was sent, review step. `received_by`
    is the person who took it down, None where the owner did it alone by a link. `giver_digest` is the salted digest of who gave
    it.
    """

    append_only = True

    chain = models.CharField(max_length=24)  # the quote's number
    seq = models.PositiveIntegerField()
    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    job_id = models.BigIntegerField(null=True)  # None until the first consent makes the job
    document = models.CharField(max_length=12)
    document_id = models.BigIntegerField()
    document_hash = models.CharField(max_length=64)
    payer = models.CharField(max_length=63, default="owner")
    outcome = models.CharField(max_length=8)
    manner = models.CharField(max_length=10)
    at = models.DateTimeField()
    received_by = models.BigIntegerField(null=True)
    link_id = models.BigIntegerField(null=True)
    giver_digest = models.CharField(max_length=64)
    amount = amount_field()
    limit_with_tax = amount_field()
    promised_on = models.DateField(null=True)
    said = models.JSONField()
    before = models.CharField(max_length=64)  # hash of the record before it; 64 zeros for the first
    hash = models.CharField(max_length=64)
    created = models.DateTimeField()

    class Meta:
        constraints = [
            # Two records after the same one would be a fork.
            models.UniqueConstraint(fields=["shop", "chain", "seq"], name="consent_chain_has_no_fork"),
            models.CheckConstraint(condition=Q(document__in=DOCUMENTS), name="consent_document_is_known"),
            models.CheckConstraint(condition=Q(outcome__in=OUTCOMES), name="consent_outcome_is_known"),
            models.CheckConstraint(condition=Q(manner__in=MANNERS), name="consent_manner_is_known"),
        ]
        indexes = [models.Index(fields=["shop", "quote"], name="consent_of_quote")]


class ConsentGiver(ShopOwned):
    """Who gave a consent, in words: name, the number or address called, address and agent of a browser; emptied by erasure."""

    consent = models.ForeignKey(Consent, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    customer_id = models.BigIntegerField(null=True)
    name = models.CharField(max_length=200, blank=True)
    contact = models.CharField(max_length=200, blank=True)
    address = models.CharField(max_length=64, blank=True)  # of the network
    agent = models.CharField(max_length=400, blank=True)
    salt = models.BinaryField(max_length=16)
    erased_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "consent"], name="consent_giver_once")]


class LinkAnswer(ShopOwned):
    """What whoever answered a document by an owner's link was told, so that a second click is told the same again.

    `fingerprint` is of the request with the link's secret in it, which is nowhere kept: it tells nobody what was sent.
    """

    append_only = True

    consent = models.ForeignKey(Consent, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    fingerprint = models.CharField(max_length=64)
    answer = models.TextField()
    created = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "consent"], name="link_answer_once")]


class ShownDocument(ShopOwned):
    """A document as it was shown, once under its hash, for as long as consents or links name it. It holds no personal data.

    Source: a record that is kept accurate and can be reproduced, 15 U.S.C. 7001(d)(1).
    """

    append_only = True

    hash = models.CharField(max_length=64)
    document = models.CharField(max_length=12)
    contents = models.JSONField()
    created = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "hash"], name="shown_document_once"),
            models.CheckConstraint(condition=Q(document__in=SHOWN), name="shown_document_is_known"),
        ]


class Withdrawal(ShopOwned):
    """That the shop took an offer back, with all alternatives that were open, and why."""

    append_only = True

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    reason = models.CharField(max_length=400)
    withdrawn_by = models.BigIntegerField(null=True)
    created = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "quote"], name="withdrawal_once")]


class OverrunPolicy(ShopOwned):
    """Which overrun without a new consent the shop works by, from a day on; none, where it never adopted one.

    `template` is the slug of a template that ships with the service, with its `version`, or "none"; `adopted` is the template
    as it was.
    """

    append_only = True

    template = models.CharField(max_length=63)
    version = models.CharField(max_length=20)
    valid_from = models.DateField()
    adopted = models.JSONField()
    note = models.CharField(max_length=400, blank=True)
    adopted_by = models.BigIntegerField(null=True)
    created = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "valid_from", "created"], name="overrun_policy_once")]
