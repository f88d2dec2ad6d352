"""How does a request about editions get from its address and body to the cost base, for a shop or a network?

The views of `api/rest/editions.py` say which method may be asked by whom; what they do is here, once for both places.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from django.http import Http404
from rest_framework import status
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, MANAGER
from api.rest.concurrency import answer_digest, etag, require_match
from api.rest.cost_base import EDITION_KINDS
from api.rest.edition_kinds import EditionKind, OnFilter, Row
from api.rest.edition_shapes import (
    EditionInput,
    FollowInput,
    NewEditionInput,
    ReplacementInput,
    edition_answer,
    event_answers,
)
from api.rest.errors import Fault, Problem, calculation_faults, invalid_input, validation_faults
from api.rest.fields import StrictSerializer
from api.rest.pagination import Page, paginate_parts
from api.rest.parsing import json_object
from api.rest.queries import PAGE_PARAMETERS, checked_filters, known_parameters
from api.tenancy import NetworkContext, ShopContext
from costbase.actions.editing import (
    EditionNeededError,
    Entered,
    Entry,
    Office,
    enter_edition,
    follow_network,
    held_edition,
    replace_edition,
    withdraw_edition,
)
from costbase.actions.editions import Row as EditionRow
from costbase.calc.errors import CalculationError
from costbase.calc.fields import SLUG_TEXT
from costbase.models import Network, Shop
from costbase.reports import editions as report
from quotes.actions.priced import network_day, shop_day
from quotes.reports.read_editions import last_read

# Within its own network a network's manager sees everything; in a shop nobody from outside sees cost.
_SEES_COST = frozenset({MANAGER, ANALYST})


@dataclass(frozen=True)
class Desk:
    """The cost base of one place, of one kind, for one request."""

    request: Request
    context: ShopContext | NetworkContext
    kind: EditionKind

    @property
    def place(self) -> Shop | Network:
        """Whose cost base it is."""
        return self.context.shop if isinstance(self.context, ShopContext) else self.context.network

    @property
    def today(self) -> date:
        """The day it is there."""
        return shop_day(self.place) if isinstance(self.place, Shop) else network_day()

    def in_force(self, slug: str | None = None) -> tuple[date, list[Any]]:
        """The day that was asked for, and what is in force on it, filtered."""
        filters = self.kind.filters if slug is None else OnFilter
        day = checked_filters(self.request, report.editions(self.place, self.kind.kind, "", self.today)[0], filters)
        on: date = day.form.cleaned_data["on"] or self.today
        parts: list[Any] = report.in_force(self.place, self.kind.kind, on)
        if slug is not None:
            return on, [part.filter(slug=slug) for part in parts]
        return on, [checked_filters(self.request, part, filters).qs for part in parts]

    def listed(self) -> Response:
        """A page of what is in force."""
        day, parts = self.in_force()
        page: Page[Row] = paginate_parts(self.request, parts, {"slug": str})
        return Response(page.document(partial(self.shown, day=day)))

    def one(self, slug: str) -> Response:
        """What is in force under a slug."""
        known_parameters(self.request, ["on"])
        day, parts = self.in_force(slug)
        rows = [row for part in parts for row in part]
        if not rows:
            raise Http404
        (shown,) = self.shown(rows, day=day)
        return answer_digest(self.request, Response(shown))

    def editions(self, slug: str) -> Response:
        """A page of all editions under a slug, the latest first."""
        known_parameters(self.request, PAGE_PARAMETERS)
        parts: list[Any] = report.editions(self.place, self.kind.kind, slug, self.today)
        # A shop's own before its network's of the same day.
        page = paginate_parts(self.request, parts, {"-valid_from": date.fromisoformat, "-owner": str})
        return Response(page.document(self.shown))

    def history(self, slug: str) -> Response:
        """A page of what was done to the editions under a slug, the latest first."""
        known_parameters(self.request, PAGE_PARAMETERS)
        rows = report.history(self.place, self.kind.kind, slug)
        page = paginate_parts(self.request, [rows], {"-pgh_id": _event_id})
        return Response(page.document(event_answers))

    def edition(self, slug: str, edition_id: int, answer: int = status.HTTP_200_OK, **headers: str) -> Response:
        """One edition of the place's own."""
        row = report.one_edition(self.place, self.kind.kind, slug, edition_id, self.today)
        if row is None:
            raise Http404
        (shown,) = self.shown([row])
        # No 304: whether it is in force changes with the day, and its version does not.
        return Response(shown, status=answer, headers={**headers, "ETag": etag(row["version"])})

    def enter(self, below: str, slug: str | None = None) -> Response:
        """Enters an edition; the slug stands in the address or in the body. `below` is the address of the kind."""
        shape = NewEditionInput if slug is None else EditionInput
        values = self._read(shape, slug)
        entry = Entry(self.kind.kind, values["slug"], values["valid_from"], values["note"], values["contents"])
        made = enter_edition(by=self.context.actor, office=self._office(), entry=entry)
        return _with_warnings(self._entered(made.row, below), made)

    def replace(self, slug: str, edition_id: int) -> Response:
        """Replaces the contents and the note of an edition."""
        row = self._held(slug, edition_id)
        values = self._read(ReplacementInput, slug)
        replace_edition(by=self.context.actor, office=self._office(), row=row, note=values["note"], contents=values["contents"])
        return self.edition(slug, edition_id)

    def withdraw(self, slug: str, edition_id: int) -> Response:
        """Withdraws an edition."""
        row = self._held(slug, edition_id)
        try:
            withdraw_edition(by=self.context.actor, office=self._office(), row=row)
        except EditionNeededError as needed:
            raise Problem(needed.code, needed.message, members={"needed_by": _needed_by(needed)}) from needed
        return Response(status=status.HTTP_204_NO_CONTENT)

    def follow(self, slug: str, below: str) -> Response:
        """Ends an override."""
        values = _values(FollowInput(data=json_object(self.request)), [])
        key = (self.kind.kind, slug)
        row = follow_network(by=self.context.actor, office=self._office(), key=key, day=values["from"], note=values["note"])
        return self._entered(row, below)

    def shown(self, rows: Sequence[Row], day: date | None = None) -> list[Row]:
        """Rows as this reader may see them; further members where they are in force on a day."""
        shop = self.place if isinstance(self.place, Shop) else None
        further = self.kind.further(shop, day, rows) if shop and day else {}
        sees = shop is None or self.context.identity.role in _SEES_COST
        currency = shop.currency if shop else None
        return [
            edition_answer(self.kind, row, currency=currency, sees_cost=sees, further=further.get(row["slug"], {}))
            for row in rows
        ]

    def _office(self) -> Office:
        place = self.place
        return Office(place, self.today, partial(last_read, place) if isinstance(place, Shop) else None)

    def _held(self, slug: str, edition_id: int) -> EditionRow:
        row = held_edition(office=self._office(), key=(self.kind.kind, slug), edition_id=edition_id)
        if row is None:
            raise Http404
        require_match(self.request, row.version)
        return row

    def _entered(self, row: EditionRow, below: str) -> Response:
        location = f"{below}/{row.slug}/editions/{row.pk}"
        return self.edition(row.slug, row.pk, status.HTTP_201_CREATED, Location=location)

    def _read(self, shape: type[StrictSerializer], slug: str | None) -> dict[str, Any]:
        """The values of a body with its contents in normal form, and the slug; every fault at once."""
        body = json_object(self.request)
        faults: list[Fault] = []
        name = body.get("slug") if slug is None else slug
        if slug is not None or "slug" in body:
            faults += self._slug_faults(name)
        contents: dict[str, object] = {}
        if isinstance(body.get("contents"), Mapping):
            try:
                contents = self.kind.read(name if isinstance(name, str) else "", body["contents"])
            except CalculationError as error:
                faults += [_below_contents(fault) for fault in calculation_faults(error) if not _is_of_slug(fault)]
        values = _values(shape(data=body), faults)
        return {**values, "slug": name, "contents": contents}

    def _slug_faults(self, slug: object) -> list[Fault]:
        if self.kind.only_slug and slug != self.kind.only_slug:
            words = f"Expected {self.kind.only_slug}, under which quotes look for it."
            return [Fault("unknown_choice", words, pointer="#/slug")]
        try:
            SLUG_TEXT.read(slug, "slug")
        except CalculationError as error:
            return list(calculation_faults(error))
        return []


def desk(view: Any, kind: str) -> Desk:
    """The desk of a view's request; `kind` is the part of the address that names it."""
    return Desk(view.request, view.context, EDITION_KINDS[kind])


def _values(serializer: StrictSerializer, faults: list[Fault]) -> dict[str, Any]:
    try:
        serializer.is_valid(raise_exception=True)
    except ValidationError as error:
        # What was found in a member already is not told again in fewer words.
        told = {fault.pointer for fault in faults}
        faults += [fault for fault in validation_faults(error.detail) if fault.pointer not in told]
    if faults:
        raise invalid_input(faults)
    values: dict[str, Any] = serializer.validated_data
    return values


def _with_warnings(response: Response, made: Entered) -> Response:
    response.data["warnings"] = [{"pointer": f"#/contents/{doubt.field}", "message": doubt.message} for doubt in made.doubts]
    return response


def _event_id(text: str) -> int:
    # Longer ones are no number of a row, and the database would say so in its own way.
    if not re.fullmatch("[0-9]{1,18}", text):
        raise ValueError("expected the number of an event")
    return int(text)


def _is_of_slug(fault: Fault) -> bool:
    # The slug stands beside the contents, and has been looked at there.
    return fault.pointer == "#/slug" and not fault.detail.startswith("unknown field")


def _below_contents(fault: Fault) -> Fault:
    return Fault(fault.code, fault.detail, pointer="#/contents" + fault.pointer[1:])


def _needed_by(needed: EditionNeededError) -> list[Row]:
    places = [(fault.field.split("/", 2), fault) for fault in needed.needed_by]
    return [
        {"kind": kind, "slug": slug, "at": "/".join(at), "code": fault.code, "detail": fault.message}
        for (kind, slug, *at), fault in places
    ]
