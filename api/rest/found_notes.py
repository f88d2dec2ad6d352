"""Found notes: hidden work that was found and draws what is set aside. Nobody signs them, the owner is told."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, ClassVar

import django_filters
from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.errors import Problem, problem_of
from api.rest.fields import LONGEST_NOTE, OneOfField, SlugField, StrictSerializer, TextField, UuidField, WholeField
from api.rest.found_shapes import FoundNoteShape, photographs
from api.rest.idempotency import once
from api.rest.jobs import OFFICE, READERS, held
from api.rest.marks import ExtentField
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.payers import LARGEST_ID
from api.rest.queries import filtered
from api.rest.quote_answers import fixed
from api.rest.quote_whys import WhyShape, step_shown
from costbase.calc.measures import ROOF_KINDS
from costbase.calc.money import currency as currency_of
from quotes.actions.found_notes import Noting, correct, draw
from quotes.actions.sent_twice import sent
from quotes.calc.found import Draw, MoreThanExposedError, PotPassedError, why_draw
from quotes.models import FoundNote, Job
from quotes.reports.found import agreed_components, found_notes

Row = dict[str, Any]

_AMOUNTS = ("work", "set_up", "amount", "left")
_DRAW_REFUSALS = (
    "job_state", "covered_work", "said_otherwise", "no_agreed_price", "bad_found_extent", "more_than_exposed", "pot_passed",
    "counted_elsewhere", "unknown_opening", "wrong_dimension", "several_faults",
)  # fmt: skip


class FoundNoteFilters(django_filters.FilterSet):  # type: ignore[misc]
    component = django_filters.CharFilter(max_length=63, label="Slug of the component.")


class FoundNoteInput(StrictSerializer):
    client_id = UuidField(
        required=False, allow_null=True, default=None, help_text="Made by the client, so that a note sent twice draws once."
    )
    component = TextField(max_length=63, help_text="Slug of a hidden component of the job.")
    construction = OneOfField(
        ("", *ROOF_KINDS), required=False, default="", help_text="Needed where the component was agreed on several."
    )
    extent = ExtentField(help_text="What was found, in what the component is measured by.")
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")
    counted = SlugField(
        required=False, allow_blank=True, default="", help_text="Counted work that went beyond what was quoted, if that is why."
    )
    opening = WholeField(
        min_value=1, max_value=LARGEST_ID, required=False, allow_null=True, default=None, help_text="Id of an opening entry."
    )
    photographs = photographs()


class FoundNotes(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_found_notes", "Found notes of a job, newest first", answers={200: FoundNoteShape}, filters=FoundNoteFilters
    )
    def get(self, request: Request, job_id: int) -> Response:
        job = job_of(self, job_id)
        rows = filtered(request, found_notes(self.context.shop, job.pk).select_related("corrects"), FoundNoteFilters)
        return Response(paginate(request, rows).document(lambda notes: _shown_all(notes, job)))

    @operation(
        "create_found_note",
        "Draw what is set aside for hidden work that was found",
        body=FoundNoteInput,
        answers={201: FoundNoteShape},
        creates=True,
        refusals=_DRAW_REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """Extent x agreed unit price, and the component's set-up with its first note. What passes the pot, or has no agreed
        price, is refused: it is a change order. A note that comes again under its `client_id` is answered as the first time.
        """
        return once(request, self.context, lambda: self._create(request, job_id))

    def _create(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, FoundNoteInput)
        noting = Noting(
            **{name: values[name] for name in ("component", "construction", "extent", "note", "counted", "opening")},
            photographs=[dict(one) for one in values["photographs"]],
            sent=sent(json_object(request), values["client_id"]),
        )
        with telling_what_is_left():
            note = draw(shop=self.context.shop, job=job, noting=noting, by=self.context.actor)
        return _created(note, job, f"{request.path}/{note.number}")


class OneFoundNote(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_found_note", "A found note", answers={200: FoundNoteShape})
    def get(self, request: Request, job_id: int, number: int) -> Response:
        job = job_of(self, job_id)
        return Response(note_shown(_note(self, job, number), job))


class FoundNoteWhy(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_found_note", "Why a found note draws what it draws", answers={200: WhyShape})
    def get(self, request: Request, job_id: int, number: int) -> Response:
        job = job_of(self, job_id)
        note, money = _note(self, job, number), currency_of(job.currency)
        agreed = agreed_components(self.context.shop, job)
        component = next(one for one in agreed if (one.slug, one.construction) == (note.component, note.construction))
        made = Draw(note.component, note.construction, note.extent, note.work, note.set_up, note.material)
        why, stored = why_draw(component, made, money), fixed(note.amount, money.digits)
        steps = [step_shown(step, self.identity.role) for step in why.steps]
        value = fixed(why.value, money.digits)
        return Response({"of": why.of, "value": value, "stored": stored, "exact": True, "steps": steps})


class FoundNoteCorrectionInput(StrictSerializer):
    client_id = UuidField(required=False, allow_null=True, default=None)
    reason = TextField(max_length=400, help_text="Why the note is taken back.")


class FoundNoteCorrection(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "correct_found_note",
        "Take a found note back",
        body=FoundNoteCorrectionInput,
        answers={201: FoundNoteShape},
        creates=True,
        refusals=["job_state", "said_otherwise", "corrected_before"],
    )
    def post(self, request: Request, job_id: int, number: int) -> HttpResponseBase:
        """What it drew goes back to the pot, with the set-up that came with it. What is right is a further note."""
        return once(request, self.context, lambda: self._correct(request, job_id, number))

    def _correct(self, request: Request, job_id: int, number: int) -> Response:
        job = held(self, job_id)
        note = _note(self, job, number)
        values = body_values(request, self.context.shop, FoundNoteCorrectionInput)
        marked = sent({**json_object(request), "corrects": number}, values["client_id"])
        back = correct(shop=self.context.shop, job=job, note=note, reason=values["reason"], by=self.context.actor, sent=marked)
        return _created(back, job, request.path.replace(f"/{number}/correction", f"/{back.number}"))


def job_of(view: ShopView, job_id: int) -> Job:
    """The job of the address, read only."""
    job: Job = get_object_or_404(Job.objects.for_shop(view.context.shop).defer("totals"), pk=job_id)
    return job


@contextmanager
def telling_what_is_left() -> Iterator[None]:
    """A refusal of a draw says what is left of the pot or of the exposure, and what was wanted, as members of their own."""
    try:
        yield
    except (PotPassedError, MoreThanExposedError) as error:
        told = problem_of(error)
        members = {"left": str(error.left), "wanted": str(error.wanted)}
        raise Problem(error.code, told.words if told else "", faults=told.faults if told else (), members=members) from error


def note_shown(note: FoundNote, job: Job) -> Row:
    """A found note as it is answered."""
    digits = currency_of(job.currency).digits
    return {
        **{name: getattr(note, name) for name in ("number", "component", "construction", "unit", "note", "counted")},
        "client_id": str(note.client_id) if note.client_id else None,
        "extent": f"{note.extent:.4f}",
        "unit_price": f"{note.unit_price:.6f}",
        **{name: fixed(getattr(note, name), digits) for name in _AMOUNTS},
        "parts": fixed(note.material, digits),
        "left_by_component": [{**one, "left": fixed(one["left"], digits)} for one in note.left_by_component],
        "photographs": note.photographs,
        "opening": note.opening_id,
        "corrects": note.corrects.number if note.corrects is not None else None,
        "created": note.created.isoformat(),
    }


def _created(note: FoundNote, job: Job, location: str) -> Response:
    return Response(note_shown(note, job), status=status.HTTP_201_CREATED, headers={"Location": location})


def _note(view: ShopView, job: Job, number: int) -> FoundNote:
    note: FoundNote | None = found_notes(view.context.shop, job.pk).select_related("corrects").filter(number=number).first()
    if note is None:
        raise Http404
    return note


def _shown_all(notes: Sequence[FoundNote], job: Job) -> list[Row]:
    return [note_shown(note, job) for note in notes]
