"""Owner's links: made for one document and one payer, listed with how often they were opened, taken back.

`new_link` serves every kind of document; a kind's own view says which document and with which hash.
"""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

import django_filters
from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.models import SENT_HOW, OwnerLink
from api.accounts.owner_links import Linked, links_of, make_link, revoke_link
from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.consent_shapes import LinkShape
from api.rest.fields import OneOfField, SlugField, StrictSerializer, WholeField
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import filtered
from quotes.actions.accepting import asked_part, must_be_open
from quotes.actions.consents import keep_document
from quotes.actions.offers import standing_offer
from quotes.actions.quoting import must_stand_alone
from quotes.models import Quote
from quotes.reports.quotes import held_offer

Row = dict[str, Any]

OFFICE = frozenset({ESTIMATOR, MANAGER})
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
LONGEST_DAYS = 180


class LinkInput(StrictSerializer):
    payer = SlugField(required=False, default="owner", help_text="Label of the payer whom it is for.")
    sent_how = OneOfField(SENT_HOW, help_text="How it is sent; written down with a consent that comes by it.")
    days = WholeField(
        min_value=1,
        max_value=LONGEST_DAYS,
        required=False,
        allow_null=True,
        default=None,
        help_text="How long it is good; unless told, to the end of the last day on which the document can be answered.",
    )


class LinkFilters(django_filters.FilterSet):  # type: ignore[misc]
    payer = django_filters.CharFilter(max_length=63, label="Label of the payer whom they are for.")


class QuoteLinks(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_quote_links", "The links to an offer, the newest first", answers={200: LinkShape}, filters=LinkFilters)
    def get(self, request: Request, quote_id: int) -> Response:
        get_object_or_404(Quote.objects.for_shop(self.context.shop).only("pk"), pk=quote_id)
        rows = filtered(request, links_of(self.context.shop, "quote", quote_id), LinkFilters)
        return Response(paginate(request, rows).document(links_shown))

    @operation(
        "make_quote_link",
        "Make a link by which an owner reads and answers an offer",
        body=LinkInput,
        answers={201: LinkShape},
        creates=True,
        refusals=["quote_state", "fleet_member", "offer_expired", "no_such_payer"],
    )
    def post(self, request: Request, quote_id: int) -> HttpResponseBase:
        """Its `token` is told now and never again, also not to the same request sent again. It goes after
        `/api/v1/owner/`.
        """
        return once(request, self.context, lambda: self._make(request, quote_id), again=lambda id_: link_again(self, id_))

    def _make(self, request: Request, quote_id: int) -> Response:
        shop, now = self.context.shop, timezone.now()
        quote = held_offer(shop, quote_id)
        if quote is None:
            raise Http404
        values = body_values(request, shop, LinkInput)
        must_stand_alone(quote)
        must_be_open(shop, quote, now, doing="linked to")
        offer = standing_offer(shop, quote, ())
        asked_part(quote, offer, values["payer"])
        keep_document(shop=shop, document="quote", contents=offer.document, hash_=offer.hash, now=now)
        linked = Linked("quote", quote.pk, quote.revision, offer.hash, values["payer"])
        return new_link(self, linked, values, until=end_of_day(shop.time_zone, quote.valid_until), now=now)


class LinkRevocation(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation("revoke_link", "Take a link back, whatever it is for", answers={200: LinkShape})
    def post(self, request: Request, link_id: int) -> Response:
        """Done twice, it keeps the first instant."""
        link = get_object_or_404(OwnerLink.objects.filter(shop=self.context.shop), pk=link_id)
        revoke_link(link, now=timezone.now())
        return Response(link_shown(link))


def new_link(view: ShopView, linked: Linked, values: Row, *, until: datetime, now: datetime) -> Response:
    """The answer to a request that made a link, with its token; made inside of `once` with `link_again`.

    Args:
        view: whose request it is.
        linked: what the link opens.
        values: of a `LinkInput`.
        until: when it ends unless the request says otherwise.
        now: the time.
    """
    expires = now + timedelta(days=values["days"]) if values["days"] is not None else until
    made_by, sent_how = view.identity.person_id, values["sent_how"]
    link, raw = make_link(
        shop=view.context.shop, linked=linked, sent_how=sent_how, made_by=made_by, now=now, expires=expires
    )  # fmt: skip
    return Response({**link_shown(link), "token": raw}, status=status.HTTP_201_CREATED)


def link_again(view: ShopView, id_: int) -> Response:
    """The answer to the same request sent again: the link without its token, which is nowhere kept."""
    return Response(link_shown(OwnerLink.objects.get(shop=view.context.shop, pk=id_)), status=status.HTTP_201_CREATED)


def links_shown(links: Sequence[OwnerLink]) -> list[Any]:
    """A page of links."""
    return [link_shown(link) for link in links]


def link_shown(link: OwnerLink) -> Row:
    """A link without its token."""
    plain = ("id", "prefix", "document", "document_id", "revision", "document_hash", "payer", "sent_how", "reads")
    instants = ("created", "expires", "revoked", "last_read")
    return {
        **{name: getattr(link, name) for name in plain},
        **{name: found.isoformat() if (found := getattr(link, name)) else None for name in instants},
        "token": None,
    }


def end_of_day(time_zone: str, day: date) -> datetime:
    """The instant at which a day of the shop is over."""
    return datetime.combine(day + timedelta(days=1), time(), tzinfo=ZoneInfo(time_zone)).astimezone(UTC)
