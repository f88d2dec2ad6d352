"""Imports: a file is staged, its difference and every fault are told, and then it is applied whole or not at all.

The same below a shop and below a network; what differs is whose editions a file changes.
"""

from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import ClassVar, Final

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, MANAGER, NETWORK_MANAGER
from api.rest.base import NetworkView, ShopView
from api.rest.concurrency import answer_version, require_match
from api.rest.errors import Problem, bad_parameter
from api.rest.idempotency import once
from api.rest.import_answers import ImportBrief, ImportRowShape, ImportShape, import_answer, row_answers
from api.rest.import_files import FILE_REFUSALS, takes_file, upload_of
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import CsvParser, TomlParser
from api.rest.queries import filtered
from api.tenancy import NetworkContext, ShopContext
from costbase.actions.imports import (
    Import,
    InForceChangedError,
    Owner,
    apply_staged,
    discard_import,
    imports_of,
    rows_of_imports,
    stage_import,
)
from costbase.models import Shop
from costbase.models.imports import APPLIED, CHANGES, STAGED, STAGING
from quotes.actions.priced import network_day, shop_day
from quotes.exchange.kept_kinds import READERS
from quotes.reports.read_editions import days_read

_READERS = frozenset({MANAGER, ANALYST})
_MANAGER = frozenset({MANAGER})
_NETWORK = frozenset({NETWORK_MANAGER})
_PARSERS = [CsvParser, TomlParser]

STAGING_TASK: Final = "quotes.tasks.stage_import_chunk"
_APPLY_REFUSALS = ("import_state", "import_faulty", "in_force_changed", "edition_used", "quoted_since", "several_faults")


class ImportFilters(django_filters.FilterSet):  # type: ignore[misc]
    state = django_filters.ChoiceFilter(
        choices=[(state, state) for state in (STAGING, STAGED, APPLIED)], label="Only imports in this state."
    )


class RowFilters(django_filters.FilterSet):  # type: ignore[misc]
    change = django_filters.ChoiceFilter(
        choices=[(change, change) for change in CHANGES], label="Only rows that would change this, or are faulty."
    )


@dataclass(frozen=True)
class Desk:
    """The imports of one place, for one request."""

    request: Request
    context: ShopContext | NetworkContext

    @property
    def owner(self) -> Owner:
        """Whose editions the files change."""
        return self.context.shop if isinstance(self.context, ShopContext) else self.context.network

    @property
    def today(self) -> date:
        """The day it is there."""
        return shop_day(self.owner) if isinstance(self.owner, Shop) else network_day()

    def listed(self) -> Response:
        """A page of imports."""
        rows = filtered(self.request, imports_of(self.owner).defer("content", "faults"), ImportFilters)
        return Response(paginate(self.request, rows).document(lambda found: ImportBrief(found, many=True).data))

    def stage(self) -> Response:
        """Stages the file of the request: 201 when it is staged, 202 while a run stages it."""
        upload = upload_of(self.request)
        if upload.valid_from < self.today and not upload.note:
            words = "Expected a note that says why, since the first day is over."
            raise bad_parameter("note", words, code="note_missing")
        staged = stage_import(
            by=self.context.actor,
            owner=self.owner,
            upload=upload,
            readers=READERS,
            task=STAGING_TASK,
            now=timezone.now(),
        )
        code = status.HTTP_202_ACCEPTED if staged.state == STAGING else status.HTTP_201_CREATED
        return self._answer(staged, code, Location=f"{self.request.path}/{staged.pk}")

    def one(self, import_id: int) -> Response:
        """An import."""
        return self._answer(get_object_or_404(imports_of(self.owner), pk=import_id))

    def rows(self, import_id: int) -> Response:
        """A page of the rows of an import."""
        staged = get_object_or_404(imports_of(self.owner), pk=import_id)
        rows = filtered(self.request, rows_of_imports(self.owner).filter(of_id=import_id), RowFilters)
        return Response(paginate(self.request, rows, ("position",)).document(partial(row_answers, staged)))

    def apply(self, import_id: int) -> Response:
        """Applies an import."""
        staged = self._locked(import_id)
        try:
            apply_staged(
                by=self.context.actor,
                owner=self.owner,
                staged=staged,
                today=self.today,
                days_read=partial(days_read, self.owner) if isinstance(self.owner, Shop) else None,
                now=timezone.now(),
            )
        except InForceChangedError as error:
            moved = [{"kind": kind, "slug": slug} for kind, slug in error.moved]
            raise Problem(error.code, error.message, members={"moved": moved}) from error
        return self._answer(staged)

    def discard(self, import_id: int) -> Response:
        """Discards an import."""
        staged = self._locked(import_id)
        discard_import(by=self.context.actor, owner=self.owner, staged=staged, now=timezone.now())
        return Response(status=status.HTTP_204_NO_CONTENT)

    def _locked(self, import_id: int) -> Import:
        staged: Import = get_object_or_404(imports_of(self.owner).select_for_update(), pk=import_id)
        require_match(self.request, staged.version)
        return staged

    def _answer(self, staged: Import, code: int = status.HTTP_200_OK, **headers: str) -> Response:
        response = Response(import_answer(self.owner, staged), status=code, headers=headers)
        return answer_version(self.request, staged.version, response)


class Imports(ShopView):
    roles: ClassVar = {"GET": _READERS, "POST": _MANAGER}
    parser_classes = _PARSERS

    @operation("list_imports", "Imports, newest first, in numbers", answers={200: ImportBrief}, filters=ImportFilters)
    def get(self, request: Request) -> Response:
        return Desk(request, self.context).listed()

    @takes_file
    @operation(
        "stage_import",
        "Stage a file: tell its difference and every fault, and change nothing",
        answers={201: ImportShape, 202: ImportShape},
        creates=True,
        refusals=FILE_REFUSALS,
    )
    def post(self, request: Request) -> HttpResponseBase:
        """The file is compared with what is in force on the day from which it shall hold: the shop's own editions, and its
        network's under all other slugs. A table with commas holds rates, materials or prices; TOML holds any kinds.

        Of more than some hundred rows a run is made, and 202 answered: the import's `state` is `staging` until it is done.
        """
        return once(request, self.context, Desk(request, self.context).stage)


class OneImport(ShopView):
    roles: ClassVar = {"GET": _READERS, "DELETE": _MANAGER}

    @operation("get_import", "A staged file: its difference and its faults", answers={200: ImportShape}, versioned=True)
    def get(self, request: Request, import_id: int) -> Response:
        return Desk(request, self.context).one(import_id)

    @operation("discard_import", "Discard a file", answers={204: None}, changes=True, refusals=["import_state"])
    def delete(self, request: Request, import_id: int) -> Response:
        """A run that stages it is cancelled. An import that was applied stays."""
        return Desk(request, self.context).discard(import_id)


class ImportRows(ShopView):
    roles: ClassVar = {"GET": _READERS}

    @operation("list_import_rows", "The rows of a file, in its order", answers={200: ImportRowShape}, filters=RowFilters)
    def get(self, request: Request, import_id: int) -> Response:
        return Desk(request, self.context).rows(import_id)


class ImportApplication(ShopView):
    roles: ClassVar = {"POST": _MANAGER}

    @operation(
        "apply_import",
        "Apply a staged file, whole or not at all",
        answers={200: ImportShape},
        changes=True,
        refusals=_APPLY_REFUSALS,
    )
    def post(self, request: Request, import_id: int) -> Response:
        """Where what is in force is not what it was when the file was staged, 409 lists it in `moved`, and nothing is done."""
        return Desk(request, self.context).apply(import_id)


class NetworkImports(NetworkView):
    roles: ClassVar = {"GET": _NETWORK, "POST": _NETWORK}
    parser_classes = _PARSERS

    @operation(
        "list_network_imports",
        "The network's imports, newest first",
        answers={200: ImportBrief},
        filters=ImportFilters,
    )
    def get(self, request: Request) -> Response:
        return Desk(request, self.context).listed()

    @takes_file
    @operation(
        "stage_network_import",
        "Stage a file of the network: tell its difference and every fault, and change nothing",
        answers={201: ImportShape, 202: ImportShape},
        creates=True,
        refusals=FILE_REFUSALS,
    )
    def post(self, request: Request) -> HttpResponseBase:
        """As for a shop; it is compared with the network's own editions."""
        return once(request, self.context, Desk(request, self.context).stage)


class OneNetworkImport(NetworkView):
    roles: ClassVar = {"GET": _NETWORK, "DELETE": _NETWORK}

    @operation("get_network_import", "A staged file of the network", answers={200: ImportShape}, versioned=True)
    def get(self, request: Request, import_id: int) -> Response:
        return Desk(request, self.context).one(import_id)

    @operation("discard_network_import", "Discard a file", answers={204: None}, changes=True, refusals=["import_state"])
    def delete(self, request: Request, import_id: int) -> Response:
        """A run that stages it is cancelled. An import that was applied stays."""
        return Desk(request, self.context).discard(import_id)


class NetworkImportRows(NetworkView):
    roles: ClassVar = {"GET": _NETWORK}

    @operation(
        "list_network_import_rows", "The rows of a file of the network", answers={200: ImportRowShape}, filters=RowFilters
    )
    def get(self, request: Request, import_id: int) -> Response:
        return Desk(request, self.context).rows(import_id)


class NetworkImportApplication(NetworkView):
    roles: ClassVar = {"POST": _NETWORK}

    @operation(
        "apply_network_import",
        "Apply a staged file of the network, whole or not at all",
        answers={200: ImportShape},
        changes=True,
        refusals=_APPLY_REFUSALS,
    )
    def post(self, request: Request, import_id: int) -> Response:
        """Where what is in force is not what it was when the file was staged, 409 lists it in `moved`, and nothing is done."""
        return Desk(request, self.context).apply(import_id)
