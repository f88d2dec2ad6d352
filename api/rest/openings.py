"""The opening record of a job: what was opened and found, entry by entry, and the condition report that comes of it."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.errors import Problem, problem_of
from api.rest.fields import (
    LONGEST_NOTE,
    DayField,
    OneOfField,
    StrictSerializer,
    TextField,
    UuidField,
    WholeField,
    refuse,
    shown,
)
from api.rest.found_notes import job_of
from api.rest.found_shapes import photographs
from api.rest.idempotency import once
from api.rest.jobs import OFFICE, READERS, held
from api.rest.marks import CELL_CODE, ExtentField
from api.rest.openapi import operation
from api.rest.opening_shapes import ConditionReportShape, OpeningShape, OpeningsShape
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.payers import LARGEST_ID
from api.rest.queries import filtered
from costbase.calc.errors import CalculationError
from costbase.calc.measures import ROOF_KINDS
from quotes.actions.opening import Opening, Said, add_openings
from quotes.actions.sent_twice import sent
from quotes.calc.survey import CONDITIONS, SIDES
from quotes.models import OpeningEntry
from quotes.reports.jobs import job_components
from quotes.reports.openings import opened_extents, openings, standing_openings, survey_findings

Row = dict[str, Any]

MOST_ENTRIES = 100
_MOST_CELLS = 2_000
_MOST_OTHERS = 500
_REFUSALS = (
    "job_state", "said_otherwise", "opening_member", "unknown_component", "opened_twice", "found_beyond_opened",
    "place_out_of_scope", "unknown_opening", "corrected_before", "bad_entry_day", "wrong_dimension", "unknown_section",
    "mark_off_roof", "bad_opening", "several_faults",
)  # fmt: skip


class OpenedCell(StrictSerializer):
    section = TextField()
    cell = TextField(max_length=5, help_text="Row from the front and lane from the driver edge, such as 3D.")

    def validate_cell(self, code: str) -> str:
        if not CELL_CODE.fullmatch(code):
            raise refuse("bad_cell", f"Expected a row from 1 and a lane A to D, such as 3D, not {shown(code)}.")
        return code


class OpenedStrip(StrictSerializer):
    section = TextField()
    side = OneOfField(SIDES)
    index = WholeField(min_value=1, max_value=9_999, help_text="24 in each, from the front or the driver edge.")


class OpenedRing(StrictSerializer):
    section = TextField()
    opening = TextField(help_text="Label of the opening.")


class FoundInput(StrictSerializer):
    """What was found of one component in these places: an extent, or a condition of all of it."""

    component = TextField(max_length=63, help_text="Slug of a hidden component of the job.")
    construction = OneOfField(("", *ROOF_KINDS), required=False, default="", help_text="Needed where there are several.")
    opened = ExtentField(
        required=False, allow_null=True, default=None, help_text="Only of components without cells, strips or rings."
    )
    found = ExtentField(required=False, allow_null=True, default=None, help_text="No more than was opened.")
    condition = OneOfField(("", *CONDITIONS), required=False, default="", help_text="In place of an extent.")
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")
    photographs = photographs()


class OutOfScopeInput(StrictSerializer):
    """Something out of scope: told to the owner with a recommendation, never billed."""

    kind = TextField(max_length=63, help_text="What it is, in a word or two.")
    section = TextField(required=False, allow_blank=True, default="")
    place = TextField(max_length=120)
    words = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")
    recommendation = TextField(max_length=LONGEST_NOTE)
    photographs = photographs()


class OpeningInput(StrictSerializer):
    client_id = UuidField(
        required=False, allow_null=True, default=None, help_text="Made by the client, so that an entry sent twice is one."
    )
    day = DayField(help_text="In the shop's zone, not in the future.")
    cells = OpenedCell(many=True, max_length=_MOST_CELLS, required=False, default=[])
    strips = OpenedStrip(many=True, max_length=_MOST_OTHERS, required=False, default=[])
    rings = OpenedRing(many=True, max_length=_MOST_OTHERS, required=False, default=[])
    found = FoundInput(many=True, max_length=50, required=False, default=[])
    findings = OutOfScopeInput(many=True, max_length=50, required=False, default=[])
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")
    corrects = WholeField(
        min_value=1,
        max_value=LARGEST_ID,
        required=False,
        allow_null=True,
        default=None,
        help_text="Id of an earlier entry that this one stands in place of.",
    )


class OpeningBatchInput(StrictSerializer):
    entries = OpeningInput(many=True, max_length=MOST_ENTRIES, allow_empty=False)


class OpeningFilters(django_filters.FilterSet):  # type: ignore[misc]
    pass


class Openings(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_openings", "Opening entries of a job, newest first", answers={200: OpeningShape}, filters=OpeningFilters)
    def get(self, request: Request, job_id: int) -> Response:
        """Corrected entries are among them; the one that corrects another names it."""
        job = job_of(self, job_id)
        rows = filtered(request, openings(self.context.shop, job.pk), OpeningFilters)
        return Response(paginate(request, rows).document(_shown_all))

    @operation(
        "add_opening",
        "Write down what was opened and found",
        body=OpeningInput,
        answers={201: OpeningShape},
        creates=True,
        refusals=_REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """How much of a component was opened follows from the places, as far as the survey had left them exposed. A place is
        opened once for a component, unless the entry is corrected. An entry that comes again is answered as the first time.
        """
        return _added(self, request, job_id, OpeningInput, one=True)


class OpeningBatch(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "add_openings",
        "Write down many entries at once, all or none",
        body=OpeningBatchInput,
        answers={201: OpeningsShape},
        creates=True,
        refusals=_REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """As a tablet sends them that was without a network. An entry may correct one that was kept before, by its id."""
        return _added(self, request, job_id, OpeningBatchInput, one=False)


class ConditionReport(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "get_condition_report",
        "What survey and opening found that the job does not put right",
        answers={200: ConditionReportShape},
    )
    def get(self, request: Request, job_id: int) -> Response:
        job, shop = job_of(self, job_id), self.context.shop
        entries = standing_openings(shop, job.pk)
        found, exclusions = survey_findings(shop, job)
        answer = {
            "job": job.number,
            "survey": found,
            "exclusions": exclusions,
            "opened": _extents(job_components(shop, job.pk), entries),
            "findings": [
                {**finding, "day": entry.day.isoformat(), "entry": entry.pk} for entry in entries for finding in entry.findings
            ],
        }
        return Response(answer)


def _added(view: ShopView, request: Request, job_id: int, kind: type[StrictSerializer], *, one: bool) -> HttpResponseBase:
    def add() -> Response:
        job = held(view, job_id)
        values = body_values(request, view.context.shop, kind)
        body: Any = json_object(request)
        said = [(values, body)] if one else list(zip(values["entries"], body["entries"], strict=True))
        try:
            entries = add_openings(
                shop=view.context.shop, job=job, entries=[_opening(*pair) for pair in said], by=view.context.actor
            )
        except CalculationError as error:
            raise _in_the_body(error) from error
        answer = opening_shown(entries[0]) if one else {"entries": _shown_all(entries)}
        return Response(answer, status=status.HTTP_201_CREATED)

    return once(request, view.context, add)


def _opening(values: Mapping[str, Any], body: Mapping[str, Any]) -> Opening:
    cells = [{"section": one["section"], "row": int(one["cell"][:-1]), "lane": one["cell"][-1]} for one in values["cells"]]
    return Opening(
        day=values["day"],
        marks={
            "cells": cells,
            "strips": [dict(one) for one in values["strips"]],
            "rings": [dict(one) for one in values["rings"]],
        },
        said=[Said(**{**one, "photographs": _plain(one["photographs"])}) for one in values["found"]],
        findings=[{**one, "photographs": _plain(one["photographs"])} for one in values["findings"]],
        note=values["note"],
        corrects=values["corrects"],
        sent=sent(body, values["client_id"]),
    )


def _plain(several: Sequence[Mapping[str, Any]]) -> list[Row]:
    return [dict(one) for one in several]


def _in_the_body(error: CalculationError) -> Exception:
    """What the core calls row and lane of a cell is one member of the body."""
    told = problem_of(error)
    if told is None:
        return error
    faults = [replace(fault, pointer=_OF_CELL.sub(r"\1cell", fault.pointer)) for fault in told.faults]
    return Problem(told.code, told.words, faults=faults)


_OF_CELL = re.compile(r"(cells/[0-9]+/)(?:row|lane)$")


def opening_shown(entry: OpeningEntry) -> Row:
    """An entry as it is answered."""
    marks = entry.marks
    return {
        "id": entry.pk,
        "client_id": str(entry.client_id) if entry.client_id else None,
        "day": entry.day.isoformat(),
        "cells": [{"section": one["section"], "cell": f"{one['row']}{one['lane']}"} for one in marks["cells"]],
        "strips": marks["strips"],
        "rings": marks["rings"],
        "found": entry.measured,
        "findings": entry.findings,
        "note": entry.note,
        "corrects": entry.corrects_id,
        "created": entry.created.isoformat(),
    }


def _shown_all(entries: Sequence[OpeningEntry]) -> list[Row]:
    return [opening_shown(entry) for entry in entries]


def _extents(components: Sequence[Row], entries: Sequence[OpeningEntry]) -> list[Row]:
    extents = opened_extents(entries)
    return [
        {
            **{name: row[name] for name in ("construction", "unit")},
            "component": row["slug"],
            "exposure": f"{row['exposure']:.4f}",
            **{name: f"{value:.4f}" for name, value in zip(("opened", "found"), extents.get(_key(row), (0, 0)), strict=True)},
        }
        for row in components
    ]


def _key(row: Row) -> tuple[str, str]:
    return row["slug"], row["construction"]
