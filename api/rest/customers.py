"""Customers: who owns the coaches. The only resource with personal data, so analysts have no way in at all.

An analyst's other answers name customers by id. Refusing the resource as a whole (403) is clearer than rows with holes
in them, and nobody has to remember which member is personal.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ESTIMATOR, MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_changes, body_values
from api.rest.concurrency import answer_version, require_match
from api.rest.fields import (
    LONGEST_NOTE,
    OneOfField,
    StrictSerializer,
    TextField,
    UuidField,
)
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import FlagFilter, filtered
from quotes.actions.customers import (
    CustomerDetails,
    add_customer,
    change_customer,
    details_of,
    erase_customer,
)
from quotes.models import Customer
from quotes.models.customer import KINDS

_OFFICE = frozenset({ESTIMATOR, MANAGER})


class Contact(StrictSerializer):
    kind = OneOfField(["phone", "email", "post"])
    value = TextField(max_length=400)
    note = TextField(required=False, allow_blank=True, default="")


class Authoriser(StrictSerializer):
    name = TextField()
    contact = TextField(max_length=400)


class CustomerChange(StrictSerializer):
    kind = OneOfField(KINDS)
    name = TextField()
    contacts = Contact(many=True, max_length=10, help_text="How the customer is reached, the preferred way first.")
    authorisers = Authoriser(many=True, max_length=10, required=False, default=[], help_text="Who else may consent to work.")
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")


class CustomerInput(CustomerChange):
    client_id = UuidField(required=False, allow_null=True, default=None)


class CustomerAnswer(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    client_id = serializers.UUIDField(allow_null=True)
    kind = serializers.ChoiceField(choices=KINDS)
    name = serializers.CharField(help_text="Empty once erased.")
    contacts = Contact(many=True)
    authorisers = Authoriser(many=True)
    note = serializers.CharField()
    created = serializers.DateTimeField()
    changed = serializers.DateTimeField()
    erased_at = serializers.DateTimeField(allow_null=True)


class CustomerFilters(django_filters.FilterSet):  # type: ignore[misc]
    name = django_filters.CharFilter(lookup_expr="icontains", max_length=200, label="Part of the name, in any case.")
    kind = django_filters.ChoiceFilter(choices=[(kind, kind) for kind in KINDS], label="Person or company.")
    erased = FlagFilter(field_name="erased_at", lookup_expr="isnull", exclude=True, label="Only erased, or only others.")


class Customers(ShopView):
    roles: ClassVar = {"GET": _OFFICE, "POST": _OFFICE}

    @operation("list_customers", "Customers, newest first", answers={200: CustomerAnswer}, filters=CustomerFilters)
    def get(self, request: Request) -> Response:
        rows = filtered(request, Customer.objects.for_shop(self.context.shop), CustomerFilters)
        return Response(paginate(request, rows).document(_all))

    @operation(
        "create_customer",
        "Add a customer",
        body=CustomerInput,
        answers={201: CustomerAnswer},
        creates=True,
        refusals=["already_there"],
    )
    def post(self, request: Request) -> HttpResponseBase:
        return once(request, self.context, lambda: self._create(request), self._created)

    def _create(self, request: Request) -> Response:
        values = body_values(request, self.context.shop, CustomerInput)
        client_id = values.pop("client_id")
        customer = add_customer(
            by=self.context.actor, shop=self.context.shop, details=CustomerDetails(**values), client_id=client_id
        )
        return self._created(customer.pk)

    def _created(self, customer_id: int) -> Response:
        customer = get_object_or_404(Customer.objects.for_shop(self.context.shop), pk=customer_id)
        headers = {"Location": f"{self.request.path}/{customer.pk}"}
        response = Response(_one(customer), status=status.HTTP_201_CREATED, headers=headers)
        return answer_version(self.request, customer.version, response)


class OneCustomer(ShopView):
    roles: ClassVar = {"GET": _OFFICE, "PATCH": _OFFICE}

    @operation("get_customer", "A customer", answers={200: CustomerAnswer}, versioned=True)
    def get(self, request: Request, customer_id: int) -> Response:
        customer = get_object_or_404(Customer.objects.for_shop(self.context.shop), pk=customer_id)
        return answer_version(request, customer.version, Response(_one(customer)))

    @operation(
        "change_customer",
        "Change a customer; lists are replaced whole",
        body=CustomerChange,
        answers={200: CustomerAnswer},
        changes=True,
        refusals=["already_erased"],
    )
    def patch(self, request: Request, customer_id: int) -> Response:
        customer = locked(self, customer_id)
        require_match(request, customer.version)
        details = replace(details_of(customer), **body_changes(request, self.context.shop, CustomerChange))
        change_customer(by=self.context.actor, customer=customer, details=details)
        return answer_version(request, customer.version, Response(_one(customer)))


class CustomerErasure(ShopView):
    roles: ClassVar = {"POST": frozenset({MANAGER})}

    @operation(
        "erase_customer",
        "Erase a customer's personal data",
        answers={200: CustomerAnswer},
        changes=True,
        refusals=["already_erased"],
    )
    def post(self, request: Request, customer_id: int) -> Response:
        """Name, contacts, authorisers and note are gone for good. The id stays, since coaches and quotes refer to it,
        with salted digests of name and contacts.
        """
        customer = locked(self, customer_id)
        require_match(request, customer.version)
        erase_customer(by=self.context.actor, customer=customer, now=timezone.now())
        return answer_version(request, customer.version, Response(_one(customer)))


def locked(view: ShopView, customer_id: int) -> Customer:
    """The customer, held until the request ends, so that its version stays what If-Match was compared with."""
    rows = Customer.objects.for_shop(view.context.shop).select_for_update()
    customer: Customer = get_object_or_404(rows, pk=customer_id)
    return customer


def _one(customer: Customer) -> dict[str, Any]:
    return dict(CustomerAnswer(customer).data)


def _all(customers: Sequence[Customer]) -> list[Any]:
    return list(CustomerAnswer(customers, many=True).data)
