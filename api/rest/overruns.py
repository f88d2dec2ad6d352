"""Templates of what may be billed beyond an authorised total without a new consent, and which of them a shop adopted.

They ship with the service and are read only. A shop that adopted none bills nothing beyond what was authorised.
"""

from collections.abc import Sequence
from typing import Any, ClassVar

from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import MANAGER, SHOP_ROLES
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.edition_filters import NoFilters
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.overrun_shapes import PolicyInput, PolicyOnShape, PolicyShape, TemplateShape, policy_answer, template_answer
from api.rest.pagination import NEWEST_FIRST, paginate, paginate_list
from api.rest.queries import PAGE_PARAMETERS, day_parameter, known_parameters
from quotes.actions.policies import adopt_policy
from quotes.actions.priced import shop_day
from quotes.calc.consent import DISCLAIMER, OverrunTemplate
from quotes.models import OverrunPolicy
from quotes.reports.policies import policies, policy_on
from quotes.snapshot import overrun_templates

Row = dict[str, Any]


class OverrunTemplates(ShopView):
    roles: ClassVar = {"GET": SHOP_ROLES}

    @operation(
        "list_overrun_templates",
        "Templates of overrun that ship with the service, by slug",
        answers={200: TemplateShape},
        filters=NoFilters,
    )
    def get(self, request: Request) -> Response:
        """Each with its citation, how it came to be known, what is not verified and whom it leaves out. Not legal advice."""
        known_parameters(request, PAGE_PARAMETERS)
        page = paginate_list(request, list(overrun_templates().values()), lambda template: template.slug)
        return Response(page.document(self._shown))

    def _shown(self, templates: Sequence[OverrunTemplate]) -> list[Row]:
        return [template_answer(template) for template in templates]


class OneOverrunTemplate(ShopView):
    roles: ClassVar = {"GET": SHOP_ROLES}

    @operation("get_overrun_template", "A template of overrun", answers={200: TemplateShape})
    def get(self, request: Request, slug: str) -> Response:
        template = overrun_templates().get(slug)
        if template is None:
            raise Http404
        return Response(template_answer(template))


class OverrunPolicies(ShopView):
    roles: ClassVar = {"GET": SHOP_ROLES, "POST": frozenset({MANAGER})}

    @operation("get_overrun_policy", "Which overrun the shop works by on a day", answers={200: PolicyOnShape}, on=True)
    def get(self, request: Request) -> Response:
        """What is in force on the day of a consent holds for what that consent authorises."""
        known_parameters(request, ("on",))
        day = day_parameter(request, "on") or shop_day(self.context.shop)
        policy = policy_on(self.context.shop, day)
        in_force = None if policy is None else policy_answer(policy)
        return Response({"on": day, "in_force": in_force, "not_legal_advice": DISCLAIMER})

    @operation(
        "adopt_overrun_policy",
        "Adopt a template of overrun, or none, from a day on",
        body=PolicyInput,
        answers={201: PolicyShape},
        creates=True,
        refusals=["unknown_overrun_template", "policy_back_dated", "template_currency"],
    )
    def post(self, request: Request) -> HttpResponseBase:
        """Changes nothing that was adopted or authorised before. It is the shop that adopts it, on its own advice."""
        return once(request, self.context, lambda: self._create(request), self._created)

    def _create(self, request: Request) -> Response:
        values = body_values(request, self.context.shop, PolicyInput)
        policy = adopt_policy(shop=self.context.shop, **values, by=self.context.actor, now=timezone.now())
        return self._created(policy.pk)

    def _created(self, policy_id: int) -> Response:
        policy = get_object_or_404(policies(self.context.shop), pk=policy_id)
        return Response(policy_answer(policy), status=status.HTTP_201_CREATED)


class OverrunPolicyHistory(ShopView):
    roles: ClassVar = {"GET": SHOP_ROLES}

    @operation(
        "list_overrun_policies",
        "Everything that the shop ever adopted, newest first",
        answers={200: PolicyShape},
        filters=NoFilters,
    )
    def get(self, request: Request) -> Response:
        known_parameters(request, PAGE_PARAMETERS)
        return Response(paginate(request, policies(self.context.shop), NEWEST_FIRST).document(self._shown))

    def _shown(self, rows: Sequence[OverrunPolicy]) -> list[Row]:
        return [policy_answer(row) for row in rows]
