"""What have all reports in common: who may read them, their filters, and JSON in pages or a whole table in a file?"""

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any, ClassVar, TypeVar

import django_filters
from django.db.models import Model, QuerySet
from django.http.response import HttpResponseBase
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, MANAGER
from api.rest.base import ShopView
from api.rest.pagination import in_pages, paginate, paginate_list
from api.rest.queries import DayFilter, IdFilter
from api.rest.report_files import FORMATS, JSON, ByFormat, table, wanted
from costbase.scope import shop_scope
from quotes.calc.geometry import CONSTRUCTIONS
from quotes.calc.severity import TIERS

Row = dict[str, Any]
M = TypeVar("M", bound=Model)

READERS = frozenset({MANAGER, ANALYST})
# So many rows are read, shown and written at once.
CHUNK = 500


class ReportFilters(django_filters.FilterSet):  # type: ignore[misc]
    format = django_filters.ChoiceFilter(
        choices=[(kind, kind) for kind in FORMATS],
        method="unchanged",
        label="json in pages, or the whole list as csv or xlsx; Accept may say it too.",
    )

    def unchanged(self, queryset: QuerySet[Any, Any], name: str, value: str) -> QuerySet[Any, Any]:
        """The rows as they are: a format chooses none."""
        return queryset


class ClosedFilters(ReportFilters):
    estimator = IdFilter(field_name="estimator", label="Id of the person who made the quote.")
    tier = django_filters.ChoiceFilter(choices=[(tier, tier) for tier in TIERS], label="Severity tier of the quote.")
    plan = django_filters.CharFilter(max_length=63, label="Slug of the scope plan.")
    construction = django_filters.ChoiceFilter(choices=[(kind, kind) for kind in CONSTRUCTIONS], label="Roof construction.")
    closed_from = DayFilter(field_name="closed_on", lookup_expr="gte", label="Closed on this day or later.")
    closed_to = DayFilter(field_name="closed_on", lookup_expr="lte", label="Closed on this day or before.")


class ReportView(ShopView):
    """A report. `columns` are the members of its rows, in the order of a file's columns; `file` is the name of that."""

    content_negotiation_class = ByFormat
    file: ClassVar[str]
    columns: ClassVar[tuple[str, ...]]

    def rows_answer(
        self,
        request: Request,
        rows: QuerySet[M],
        order: Sequence[str],
        show: Callable[[Sequence[M]], Iterable[Row]],
        columns: Sequence[str] = (),
    ) -> HttpResponseBase:
        """Rows of a table, which may be any number: a page of them, or all of them as a file."""
        if wanted(request) == JSON:
            return Response(paginate(request, rows, order).document(show))
        return self.file_answer(request, lambda: (list(show(page)) for page in in_pages(rows, order, CHUNK)), columns)

    def list_answer(self, request: Request, rows: Sequence[Row]) -> HttpResponseBase:
        """Rows that are there already, in their order."""
        if wanted(request) == JSON:
            numbered = list(enumerate(rows))
            page = paginate_list(request, numbered, lambda row: f"{row[0]:08d}")
            return Response(page.document(lambda found: [row for _, row in found]))
        return self.file_answer(request, lambda: [rows])

    def file_answer(
        self, request: Request, pages: Callable[[], Iterable[Sequence[Row]]], columns: Sequence[str] = ()
    ) -> HttpResponseBase:
        """All rows as the file that was asked for; a scope of its own is open while they are read.

        `columns` are those of this reader, where not everybody may see all of them.
        """
        scope = partial(shop_scope, self.context.shop.pk, self.context.actor)
        return table(wanted(request), self.file, columns or self.columns, pages, scope)
