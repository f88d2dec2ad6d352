"""The review of a closed job: both bridges, luck and look, why each cause came to its amount, and who signed it off."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, ClassVar

from django.http import Http404
from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.concurrency import answer_version, require_match
from api.rest.fields import LONGEST_NOTE, OneOfField, StrictSerializer, TextField
from api.rest.openapi import operation
from api.rest.quote_answers import fixed
from api.rest.report_views import READERS
from costbase.calc.money import currency
from quotes.actions.priced import ENGINE
from quotes.actions.reviews import held_review, reopen, sign_off
from quotes.models import ClosedComponent, ClosedJob, Review
from quotes.models.review import REVIEW_CAUSES, REVIEW_STATES
from quotes.reports.review.cut import cut_of

Row = dict[str, Any]

_AMOUNTS = (
    "base", "record", "allowance", "contingency", "limit", "limit_with_tax", "authorised_with_tax", "billed",
    "billed_with_tax", "planned_cost", "actual_cost", "planned_margin", "margin", "not_quoted_cost", "standard",
    "hidden_measured", "hidden_done", "p50", "p80",
)  # fmt: skip
_PLAIN = ("number", "seq", "why", "tier", "plan", "construction", "price_basis", "stopped", "currency", "estimator")
_PART = ("slug", "construction", "tier", "unit", "exposure", "unit_price", "set_up", "opened_share", "found", "repaired")


class BridgeCauseShape(serializers.Serializer[Any]):
    cause = serializers.CharField()
    name = serializers.CharField()
    amount = serializers.CharField()


class BridgeShape(serializers.Serializer[Any]):
    """From `start` to `end` by causes that add up exactly."""

    start = serializers.CharField()
    causes = BridgeCauseShape(many=True)
    end = serializers.CharField()


class ReviewCutShape(serializers.Serializer[Any]):
    cut = serializers.ChoiceField(choices=["luck", "look", "hours", "price"])
    amount = serializers.CharField(help_text="Above 0 where it cost more.")
    sentence = serializers.CharField()


class SignedShape(serializers.Serializer[Any]):
    state = serializers.ChoiceField(choices=list(REVIEW_STATES))
    cause = serializers.CharField()
    action = serializers.CharField()
    reason = serializers.CharField(help_text="Why it was opened again.")
    signed_by = serializers.IntegerField(allow_null=True)
    signed_at = serializers.DateTimeField(allow_null=True)
    outdated = serializers.BooleanField(help_text="The books were closed again after it was signed.")


class ReviewShape(serializers.Serializer[Any]):
    """A closed job, why it ended where it did, and what was made of that."""

    job = serializers.IntegerField()
    facts = serializers.DictField(help_text="Amounts, hours and days of the closed books.")
    components = serializers.ListField(child=serializers.DictField(), help_text="What was opened, found and put right.")
    bill = BridgeShape(help_text="From the agreed visible work to the bill with tax, at quote prices.")
    cost = BridgeShape(help_text="From planned to actual cost; above 0 where it cost more.")
    margin = BridgeShape(help_text="From the planned margin to the margin at cost.")
    third_cut = ReviewCutShape(many=True)
    review = SignedShape()


class BridgeStepShape(serializers.Serializer[Any]):
    words = serializers.CharField()
    standard = serializers.CharField()
    actual = serializers.CharField()
    difference = serializers.CharField()


class CauseWhyShape(BridgeCauseShape):
    steps = BridgeStepShape(many=True)


class BridgeWhyShape(serializers.Serializer[Any]):
    start = serializers.CharField()
    causes = CauseWhyShape(many=True)
    end = serializers.CharField()


class ReviewWhyShape(serializers.Serializer[Any]):
    """Every cause with the steps that it comes of; differences add up to its amount."""

    bill = BridgeWhyShape()
    cost = BridgeWhyShape()
    margin = BridgeWhyShape()


class SignOffInput(StrictSerializer):
    cause = OneOfField(REVIEW_CAUSES, help_text="The main cause.")
    action = TextField(max_length=LONGEST_NOTE, help_text="What shall be done differently.")


class ReopenInput(StrictSerializer):
    reason = TextField(max_length=400)


class JobReview(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_review", "Why a closed job ended where it did", answers={200: ReviewShape}, versioned=True)
    def get(self, request: Request, job_id: int) -> Response:
        """Two bridges that add up exactly, luck and look, and the review. 404 until the job's books are closed."""
        return _answer(self, request, job_id)


class ReviewWhy(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_review", "How each cause comes to its amount", answers={200: ReviewWhyShape})
    def get(self, request: Request, job_id: int) -> Response:
        """Every step with what it should have been, what it was, and the difference."""
        closed = _closed(self, job_id)
        return Response(_bridges(closed, steps=True))


class ReviewSignOff(ShopView):
    roles: ClassVar = {"POST": frozenset({ANALYST})}

    @operation(
        "sign_off_review",
        "Sign a review off with its cause and what shall be done",
        body=SignOffInput,
        answers={200: ReviewShape},
        changes=True,
        refusals=["review_state"],
    )
    def post(self, request: Request, job_id: int) -> Response:
        review = _held(self, job_id)
        require_match(request, review.version)
        values = body_values(request, self.context.shop, SignOffInput)
        sign_off(shop=self.context.shop, review=review, by=self.context.actor, now=timezone.now(), **values)
        return _answer(self, request, job_id)


class ReviewReopening(ShopView):
    roles: ClassVar = {"POST": frozenset({ANALYST})}

    @operation(
        "reopen_review",
        "Open a review again, with the reason",
        body=ReopenInput,
        answers={200: ReviewShape},
        changes=True,
        refusals=["review_state"],
    )
    def post(self, request: Request, job_id: int) -> Response:
        """Its history keeps who had signed it, and with which words."""
        review = _held(self, job_id)
        require_match(request, review.version)
        values = body_values(request, self.context.shop, ReopenInput)
        reopen(shop=self.context.shop, review=review, by=self.context.actor, reason=values["reason"])
        return _answer(self, request, job_id)


def _held(view: ShopView, job_id: int) -> Review:
    review = held_review(view.context.shop, job_id)
    if review is None:
        raise Http404
    return review


def _closed(view: ShopView, job_id: int) -> ClosedJob:
    closed = ClosedJob.objects.for_shop(view.context.shop).filter(job_id=job_id).order_by("-seq").first()
    if closed is None:
        raise Http404
    return closed


def _answer(view: ShopView, request: Request, job_id: int) -> Response:
    shop, closed = view.context.shop, _closed(view, job_id)
    review = Review.objects.for_shop(shop).get(job_id=job_id)
    digits = currency(closed.currency).digits
    parts = ClosedComponent.objects.for_shop(shop).filter(closed_id=closed.pk).order_by("position")
    answer = {
        "job": job_id,
        "facts": _facts(closed, digits),
        "components": [
            {name: value if isinstance(value, str | None) else str(value) for name, value in row.items()}
            for row in parts.values(*_PART)
        ],
        **_bridges(closed, steps=False),
        "third_cut": [
            {"cut": cut.slug, "amount": fixed(cut.amount, digits), "sentence": cut.sentence}
            for cut in cut_of(shop, closed, engine=ENGINE)
        ],
        "review": _review(review, closed),
    }
    return answer_version(request, review.version, Response(answer))


def _facts(closed: ClosedJob, digits: int) -> Row:
    return {
        **{name: getattr(closed, name) for name in _PLAIN},
        **{name: getattr(closed, name).isoformat() for name in ("quoted_on", "closed_on")},
        **{name: fixed(getattr(closed, name), digits) for name in _AMOUNTS},
        **{name: str(getattr(closed, name)) for name in ("planned_hours", "actual_hours")},
        "over_budget": closed.actual_cost > closed.planned_cost,
    }


def _review(review: Review, closed: ClosedJob) -> Row:
    return {
        **{name: getattr(review, name) for name in ("state", "cause", "action", "reason", "signed_by")},
        "signed_at": review.signed_at.isoformat() if review.signed_at else None,
        "outdated": review.signed_at is not None and closed.created > review.signed_at,
    }


def _bridges(closed: ClosedJob, *, steps: bool) -> Row:
    digits, kept = currency(closed.currency).digits, closed.bridges
    cost = {"start": closed.planned_cost, "causes": kept["costs"], "end": closed.actual_cost}
    bridges = {"bill": kept["owner"], "cost": cost, "margin": kept["margin"]}
    return {name: _bridge(bridge, digits, steps=steps) for name, bridge in bridges.items()}


def _bridge(bridge: Mapping[str, Any], digits: int, *, steps: bool) -> Row:
    return {
        "start": fixed(bridge["start"], digits),
        "causes": list(_causes(bridge["causes"], digits, steps=steps)),
        "end": fixed(bridge["end"], digits),
    }


def _causes(causes: Iterable[Mapping[str, Any]], digits: int, *, steps: bool) -> Iterable[Row]:
    for cause in causes:
        shown: Row = {"cause": cause["slug"], "name": cause["name"], "amount": fixed(cause["amount"], digits)}
        if steps:
            shown["steps"] = [
                {
                    "words": step["words"],
                    **{name: fixed(Decimal(step[name]), digits) for name in ("standard", "actual", "difference")},
                }
                for step in cause["steps"]
            ]
        yield shown
