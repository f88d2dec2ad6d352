"""Who pays for which part of a quote: the payers with a paper each, the rules that give them their parts, and why.

No answer here holds a name or a contact: a payer is a customer of the shop, by id.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar

from django.http import Http404
from django.shortcuts import get_object_or_404
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.concurrency import answer_version, require_match
from api.rest.fields import AmountField, OneOfField, SlugField, StrictSerializer, TextField, WholeField
from api.rest.openapi import operation
from api.rest.payer_shapes import PayersShape, PayerWhyShape
from api.rest.quote_answers import fixed
from quotes.actions.payers import PayerDetails, RuleDetails, save_payers
from quotes.actions.quoting import must_be
from quotes.calc.payers import CAUSES, KINDS, SUBJECTS, TOTALS, ChargePart, Due, HiddenShare, Share, why_payer
from quotes.models import Quote
from quotes.reports.payers import NOT_READ, Paid, paid

Row = dict[str, Any]

OFFICE = frozenset({ESTIMATOR, MANAGER})
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
MOST_PAYERS = 10
MOST_RULES = 200
LARGEST_ID = 2**63 - 1
_SAID = ("claim_reference", "purchase_order")


class TermsInput(StrictSerializer):
    days = WholeField(max_value=365, required=False, allow_null=True, default=None, help_text="Days to pay in.")
    words = TextField(max_length=400, required=False, allow_blank=True, default="")


class PayerInput(StrictSerializer):
    label = SlugField(  # type: ignore[assignment]
        help_text="What rules call this payer; the owner's is owner."
    )
    kind = OneOfField(KINDS)
    customer = WholeField(
        min_value=1, max_value=LARGEST_ID, required=False, allow_null=True, default=None, help_text="A customer of this shop."
    )
    claim_reference = TextField(max_length=100, required=False, allow_blank=True, default="")
    purchase_order = TextField(max_length=100, required=False, allow_blank=True, default="")
    terms = TermsInput(required=False, allow_null=True, default=None)
    deductible = AmountField(
        required=False,
        allow_null=True,
        default=None,
        help_text="Of an insurer or a warranty: what the owner bears of this payer's total, with tax.",
    )


class RuleInput(StrictSerializer):
    by = OneOfField(SUBJECTS)
    of = TextField(
        required=False,
        allow_blank=True,
        default="",
        help_text="Slug of an assembly, component, phase or line, or label of a section; empty for everything.",
    )
    trade = TextField(
        max_length=63,
        required=False,
        allow_blank=True,
        default="",
        help_text="Of an assembly or a line: this trade's hours only.",
    )
    payer = SlugField(help_text="Label of a payer, or owner.")
    cause = OneOfField(CAUSES)
    note = TextField(max_length=400, required=False, allow_blank=True, default="")


class PayersInput(StrictSerializer):
    payers = PayerInput(many=True, max_length=MOST_PAYERS, help_text="The owner need not stand here.")
    rules = RuleInput(
        many=True, max_length=MOST_RULES, help_text="The first that fits decides; what none speaks of is the owner's."
    )


class QuotePayers(ShopView):
    roles: ClassVar = {"GET": READERS, "PUT": OFFICE}

    @operation("get_payers", "Who pays for which part of a quote", answers={200: PayersShape}, versioned=True)
    def get(self, request: Request, quote_id: int) -> Response:
        """A paper for each payer, the owner first. The version is the quote's."""
        quote = _quote(self, quote_id)
        return answer_version(request, quote.version, Response(self._answer(quote)))

    @operation(
        "save_payers",
        "Say who pays for a draft",
        body=PayersInput,
        answers={200: PayersShape},
        changes=True,
        refusals=["quote_state", "bad_payer", "other_shop", "several_faults"],
    )
    def put(self, request: Request, quote_id: int) -> Response:
        """In place of what was said before; nothing is priced again. If-Match names the version of the quote, which is raised.

        Rules speak of slugs and labels, so that they hold when the draft is priced again. One that speaks of nothing any more
        is kept and told in `warnings`.
        """
        # This one row and no other: who pays for it changes nothing of its alternatives.
        quote = _quote(self, quote_id, held=True)
        require_match(request, quote.version)
        must_be(quote, "draft", doing="given other payers")
        values = body_values(request, self.context.shop, PayersInput)
        save_payers(
            shop=self.context.shop,
            quote=quote,
            payers=[_details(payer) for payer in values["payers"]],
            rules=[RuleDetails(**rule) for rule in values["rules"]],
            by=self.context.actor,
        )
        return answer_version(request, quote.version, Response(self._answer(quote)))

    def _answer(self, quote: Quote) -> Row:
        return payers_answer(quote, paid(self.context.shop, quote))


class _PayerWhyView(ShopView):
    """What the two views below share."""

    def answer(self, quote_id: int, position: int, name: str) -> Response:
        quote = _quote(self, quote_id)
        split = paid(self.context.shop, quote).split
        digits, unit = split.figures.currency.digits, quote.currency
        why = why_payer(split, position, name)
        steps = [
            {"text": step.text, "value": fixed(step.amount, digits), "unit": unit, "source": step.source, "adds": step.adds}
            for step in why.steps
        ]
        return Response({"of": why.of, "value": fixed(why.value, digits), "steps": steps})


class PayerWhy(_PayerWhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_payer", "Why does this payer pay that much?", answers={200: PayerWhyShape}, refusals=["nothing_to_explain"])
    def get(self, request: Request, quote_id: int, position: int) -> Response:
        """What falls on the payer with the visible work, with tax; the steps that add come to it exactly."""
        return self.answer(quote_id, position, "total")


class PayerAmountWhy(_PayerWhyView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "why_payer_amount", "Why is it this much, or at most this much?", answers={200: PayerWhyShape},
        refusals=["nothing_to_explain"],
    )  # fmt: skip
    def get(self, request: Request, quote_id: int, position: int, name: str) -> Response:
        """`total`, or `limit_with_tax`: the most that can fall on the payer without a new consent."""
        if name not in TOTALS:
            raise Http404(f"Expected one of {', '.join(TOTALS)}.")
        return self.answer(quote_id, position, name)


def _quote(view: ShopView, quote_id: int, *, held: bool = False) -> Quote:
    rows = Quote.objects.for_shop(view.context.shop).defer(*NOT_READ)
    quote: Quote = get_object_or_404(rows.select_for_update(of=("self",)) if held else rows, pk=quote_id)
    return quote


def payers_answer(quote: Quote, found: Paid) -> Row:
    """The papers of every payer, and what they come to together: the quote."""
    split = found.split
    digits = split.figures.currency.digits
    papers = [_paper(at, share, found, quote, digits) for at, share in enumerate(split.shares, 1)]
    return {
        "quote": quote.pk,
        "number": quote.number,
        "revision": quote.revision,
        "state": quote.state,
        "currency": quote.currency,
        "payers": papers,
        "rules": [{name: value for name, value in rule.items() if name != "position"} for rule in found.rules],
        "together": {
            "base": fixed(quote.base, digits),
            "tax": fixed(quote.totals["base_tax"], digits),
            "rounding": fixed(quote.totals["base_rounding"], digits),
            "total": fixed(quote.base_with_tax, digits),
            "record": fixed(quote.record, digits),
            "contingency": fixed(quote.contingency, digits),
            "limit": fixed(quote.limit, digits),
            "limit_tax": fixed(quote.totals["limit_tax"], digits),
            "limit_rounding": fixed(quote.totals["limit_rounding"], digits),
            "limit_with_tax": fixed(quote.limit_with_tax, digits),
        },
        "warnings": list(found.warnings),
    }


def _paper(position: int, share: Share, found: Paid, quote: Quote, digits: int) -> Row:
    said = found.payers.get(share.payer.label, {})
    days, deductible = said.get("terms_days"), said.get("deductible")
    customer = said.get("customer_id")
    if customer is None and share.payer.kind == "owner":
        customer = quote.customer_id
    return {
        "position": position,
        "label": share.payer.label,
        "kind": share.payer.kind,
        "customer": customer,
        **{name: said.get(name, "") for name in _SAID},
        "terms": {"days": days, "words": said.get("terms_words", "")},
        "deductible": None if deductible is None else {"amount": fixed(deductible, digits), "currency": quote.currency},
        "lines": [_line(part, digits) for part in share.charges],
        "hidden": [_hidden(part, digits) for part in share.hidden],
        "causes": [
            {"cause": cause, "words": CAUSES[cause], "amount": fixed(amount, digits)}
            for cause, amount in share.by_cause().items()
        ],
        "amounts": _amounts(share, digits),
        "taxes": {"base": _taxes(share.base, digits), "limit": _taxes(share.limit, digits)},
    }


def _line(part: ChargePart, digits: int) -> Row:
    charge = part.charge
    return {
        **{name: getattr(charge, name) for name in ("position", "kind", "slug", "trade", "name", "phase", "unit")},
        "quantity": str(part.quantity),
        "amount": fixed(part.amount, digits),
        "whole": part.whole,
        "cause": part.cause,
    }


def _hidden(part: HiddenShare, digits: int) -> Row:
    return {
        "position": part.hidden.position,
        "slug": part.hidden.slug,
        "name": part.hidden.name,
        "allowance": fixed(part.allowance, digits),
        "contingency": fixed(part.contingency, digits),
        "whole": part.whole,
        "cause": part.cause,
    }


def _amounts(share: Share, digits: int) -> Row:
    base, limit = share.base, share.limit
    amounts: Mapping[str, Decimal] = {
        "base": base.net,
        "tax": base.tax,
        "deductible": base.deductible,
        "rounding": base.rounding,
        "total": base.total,
        "record": share.record,
        "contingency": share.contingency,
        "limit": limit.net,
        "limit_tax": limit.tax,
        "limit_deductible": limit.deductible,
        "limit_rounding": limit.rounding,
        "limit_with_tax": limit.total,
    }
    return {name: fixed(value, digits) for name, value in amounts.items()}


def _taxes(due: Due, digits: int) -> list[Row]:
    return [
        {"name": tax.name, "rate": str(tax.rate), "base": fixed(tax.base, digits), "amount": fixed(tax.amount, digits)}
        for tax in due.taxes
    ]


def _details(payer: Mapping[str, Any]) -> PayerDetails:
    terms = payer["terms"] or {"days": None, "words": ""}
    return PayerDetails(
        label=payer["label"],
        kind=payer["kind"],
        customer_id=payer["customer"],
        **{name: payer[name] for name in _SAID},
        terms_days=terms["days"],
        terms_words=terms["words"],
        deductible=payer["deductible"],
    )
