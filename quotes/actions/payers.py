"""How is it written down who pays for a draft, and how does a revision take that over?

Payers and rules are replaced as a whole. They price nothing; the quote's version is raised, since it shows its payers another
thing then.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from django.db import connection

from costbase.calc.errors import CalculationError, raise_faults
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.references import customers_missing, other_customer
from quotes.calc.payers import Payer, Rule, check_parties
from quotes.models import Quote, QuotePayer

Row = dict[str, Any]

_CLEAR = """
WITH p AS (DELETE FROM quotes_quotepayer WHERE shop_id = %(shop)s AND quote_id = ANY(%(quotes)s))
DELETE FROM quotes_payerrule WHERE shop_id = %(shop)s AND quote_id = ANY(%(quotes)s)
"""
_PAYER = "position, label, kind, customer_id, claim_reference, purchase_order, terms_days, terms_words, deductible"
_RULE = 'position, "by", "of", trade, payer, cause, note'
_WRITE = f"""
WITH p AS (
    INSERT INTO quotes_quotepayer (shop_id, quote_id, {_PAYER})
    SELECT %(shop)s, %(quote)s, {_PAYER} FROM jsonb_to_recordset(%(payers)s::jsonb) AS payers(
        position int, label text, kind text, customer_id bigint, claim_reference text, purchase_order text, terms_days int,
        terms_words text, deductible numeric)
), r AS (
    INSERT INTO quotes_payerrule (shop_id, quote_id, {_RULE})
    SELECT %(shop)s, %(quote)s, {_RULE} FROM jsonb_to_recordset(%(rules)s::jsonb) AS rules(
        position int, "by" text, "of" text, trade text, payer text, cause text, note text)
)
UPDATE quotes_quote SET version = version + 1 WHERE shop_id = %(shop)s AND id = %(quote)s RETURNING version
"""
_COPY = f"""
WITH p AS (
    INSERT INTO quotes_quotepayer (shop_id, quote_id, {_PAYER})
    SELECT shop_id, %(to)s, {_PAYER} FROM quotes_quotepayer WHERE shop_id = %(shop)s AND quote_id = %(from)s
)
INSERT INTO quotes_payerrule (shop_id, quote_id, {_RULE})
SELECT shop_id, %(to)s, {_RULE} FROM quotes_payerrule WHERE shop_id = %(shop)s AND quote_id = %(from)s
"""


@dataclass(frozen=True, slots=True)
class PayerDetails:
    """What is written down about a payer; see `QuotePayer`. `deductible` is None where there is none."""

    label: str
    kind: str
    customer_id: int | None
    claim_reference: str
    purchase_order: str
    terms_days: int | None
    terms_words: str
    deductible: Decimal | None


@dataclass(frozen=True, slots=True)
class RuleDetails:
    """A rule as it is written down; see `quotes.calc.payers.Rule`."""

    by: str
    of: str
    trade: str
    payer: str
    cause: str
    note: str


def save_payers(*, shop: Shop, quote: Quote, payers: Sequence[PayerDetails], rules: Sequence[RuleDetails], by: Actor) -> None:
    """Writes who pays for a draft in place of what was written before; the caller has locked it and compared the version.

    Raises:
        CalculationFaults, PayerError: payers or rules that contradict themselves.
        OtherShopError: a customer who is not in this shop, or was erased before he became a payer here.
    """
    assert_scope(shop.pk)
    check_parties(
        [Payer(payer.label, payer.kind, payer.deductible or Decimal(0)) for payer in payers],
        [Rule(rule.by, rule.of, rule.trade, rule.payer, rule.cause) for rule in rules],
    )
    _check_customers(shop, quote, payers)
    values: dict[str, int | str] = {
        "shop": shop.pk,
        "quote": quote.pk,
        "payers": _numbered(asdict(payer) for payer in payers),
        "rules": _numbered(asdict(rule) for rule in rules),
    }
    with connection.cursor() as cursor:
        cursor.execute(_CLEAR, {"shop": shop.pk, "quotes": [quote.pk]})
        cursor.execute(_WRITE, values)
        (quote.version,) = cursor.fetchone()


def copy_payers(*, shop: Shop, from_id: int, to_id: int) -> None:
    """Gives a new revision the payers and rules of the old one."""
    with connection.cursor() as cursor:
        cursor.execute(_COPY, {"shop": shop.pk, "from": from_id, "to": to_id})


def delete_payers(*, shop: Shop, quote_ids: Sequence[int]) -> None:
    """Takes the payers and rules of drafts away that are going to be deleted."""
    with connection.cursor() as cursor:
        cursor.execute(_CLEAR, {"shop": shop.pk, "quotes": list(quote_ids)})


def _numbered(rows: Iterable[Row]) -> str:
    return json.dumps([{"position": at, **row} for at, row in enumerate(rows, 1)], default=str)


def _check_customers(shop: Shop, quote: Quote, payers: Sequence[PayerDetails]) -> None:
    wanted = {payer.customer_id for payer in payers if payer.customer_id is not None}
    if not wanted:
        return
    standing = QuotePayer.objects.for_shop(shop).filter(quote_id=quote.pk).values("customer_id")
    missing = customers_missing(shop, wanted, standing)
    faults: list[CalculationError] = [
        other_customer(payer.customer_id, f"payers/{at}/customer")
        for at, payer in enumerate(payers)
        if payer.customer_id in missing
    ]
    raise_faults(faults)
