"""Editions of the cost base: the one pattern of every kind, below a shop and below a network.

`{kind}` is one of the plurals of `api/rest/cost_base.py`; what a kind has of its own stands in its file there. Numbers in
addresses are of the place's own editions: a shop reads its network's and changes its own.
"""

from typing import ClassVar

from django.http.response import HttpResponseBase
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from api.rest.base import NetworkView, ShopView
from api.rest.cost_base import EDITION_KINDS
from api.rest.edition_desk import desk
from api.rest.edition_filters import AnyEditionFilters, NoFilters
from api.rest.edition_shapes import EditionInput, EditionShape, EventShape, FollowInput, NewEditionInput, ReplacementInput
from api.rest.idempotency import once
from api.rest.openapi import operation

_READERS = frozenset({ESTIMATOR, MANAGER, ANALYST, NETWORK_MANAGER})
_COST_READERS = frozenset({MANAGER, ANALYST})
_WRITERS = frozenset({MANAGER})
_OF_NETWORK = frozenset({NETWORK_MANAGER})
_KINDS = {"kind": sorted(EDITION_KINDS)}
_ENTRY_REFUSALS = (
    "several_faults", "already_there", "edition_used", "note_missing", "quoted_since", "bad_contents", "bad_template",
    "unknown_reference", "not_foam_safe", "counted_twice", "predecessors_in_a_circle", "formula_error",
)  # fmt: skip
_CHANGE_REFUSALS = ("edition_withdrawn", "follows_network")


class ShopEditions(ShopView):
    roles: ClassVar = {"GET": _READERS, "POST": _WRITERS}

    @operation(
        "list_editions", "What is in force, by slug", answers={200: EditionShape}, filters=AnyEditionFilters, places=_KINDS
    )
    def get(self, request: Request, kind: str) -> Response:
        """The shop's own editions, and its network's under all other slugs; an estimator sees what is billed."""
        return desk(self, kind).listed()

    @operation(
        "enter_edition",
        "Enter an edition under a slug of the body",
        body=NewEditionInput,
        answers={201: EditionShape},
        creates=True,
        tagged=True,
        refusals=_ENTRY_REFUSALS,
        places=_KINDS,
    )
    def post(self, request: Request, kind: str) -> HttpResponseBase:
        """It has to fit everything that is in force on its first day, and on every later day until the next one of its slug.

        Over an edition of the network it is an override and remembers it. One whose first day is over needs a note, and is
        refused where an issued quote of those days read something under the slug.
        """
        return once(request, self.context, lambda: desk(self, kind).enter(request.path))


class ShopEditionInForce(ShopView):
    roles: ClassVar = {"GET": _READERS}

    @operation(
        "get_edition_in_force",
        "What is in force under a slug",
        answers={200: EditionShape},
        versioned=True,
        on=True,
        places=_KINDS,
    )
    def get(self, request: Request, kind: str, slug: str) -> Response:
        return desk(self, kind).one(slug)


class ShopEditionsOfSlug(ShopView):
    roles: ClassVar = {"GET": _COST_READERS, "POST": _WRITERS}

    @operation(
        "list_editions_of_slug",
        "Every edition under a slug, the latest first",
        answers={200: EditionShape},
        filters=NoFilters,
        places=_KINDS,
    )
    def get(self, request: Request, kind: str, slug: str) -> Response:
        """The shop's own and its network's; past, future and withdrawn ones too."""
        return desk(self, kind).editions(slug)

    @operation(
        "enter_edition_of_slug",
        "Enter an edition under the slug of the address",
        body=EditionInput,
        answers={201: EditionShape},
        creates=True,
        tagged=True,
        refusals=_ENTRY_REFUSALS,
        places=_KINDS,
    )
    def post(self, request: Request, kind: str, slug: str) -> HttpResponseBase:
        below = request.path.removesuffix(f"/{slug}/editions")
        return once(request, self.context, lambda: desk(self, kind).enter(below, slug))


class OneShopEdition(ShopView):
    roles: ClassVar = {"GET": _COST_READERS, "PUT": _WRITERS, "DELETE": _WRITERS}

    @operation("get_edition", "One of the shop's own editions", answers={200: EditionShape}, tagged=True, places=_KINDS)
    def get(self, request: Request, kind: str, slug: str, edition_id: int) -> Response:
        return desk(self, kind).edition(slug, edition_id)

    @operation(
        "replace_edition",
        "Replace the contents of an edition that no issued quote has used",
        body=ReplacementInput,
        answers={200: EditionShape},
        tagged=True,
        changes=True,
        refusals=[*_ENTRY_REFUSALS, *_CHANGE_REFUSALS],
        places=_KINDS,
    )
    def put(self, request: Request, kind: str, slug: str, edition_id: int) -> Response:
        return desk(self, kind).replace(slug, edition_id)

    @operation(
        "withdraw_edition",
        "Withdraw an edition that no issued quote has used",
        answers={204: None},
        changes=True,
        refusals=["edition_used", "edition_needed", *_CHANGE_REFUSALS],
        places=_KINDS,
    )
    def delete(self, request: Request, kind: str, slug: str, edition_id: int) -> Response:
        """What was in force before it is again. Where others cannot do without it, `needed_by` lists them."""
        return desk(self, kind).withdraw(slug, edition_id)


class FollowNetwork(ShopView):
    roles: ClassVar = {"POST": _WRITERS}

    @operation(
        "follow_network",
        "End an override: follow the network from a day on",
        body=FollowInput,
        answers={201: EditionShape},
        creates=True,
        tagged=True,
        refusals=["no_override", *_ENTRY_REFUSALS],
        places=_KINDS,
    )
    def post(self, request: Request, kind: str, slug: str) -> HttpResponseBase:
        """Answers an edition without contents, which can be withdrawn like any other."""
        below = request.path.removesuffix(f"/{slug}/follow-network")
        return once(request, self.context, lambda: desk(self, kind).follow(slug, below))


class ShopEditionHistory(ShopView):
    roles: ClassVar = {"GET": _COST_READERS}

    @operation("list_edition_changes", "Who changed what when", answers={200: EventShape}, filters=NoFilters, places=_KINDS)
    def get(self, request: Request, kind: str, slug: str) -> Response:
        """Changes of the shop's own editions under a slug, the latest first."""
        return desk(self, kind).history(slug)


class NetworkEditions(NetworkView):
    roles: ClassVar = {"GET": _OF_NETWORK, "POST": _OF_NETWORK}

    @operation(
        "list_network_editions",
        "What is in force in the network, by slug",
        answers={200: EditionShape},
        filters=AnyEditionFilters,
        places=_KINDS,
    )
    def get(self, request: Request, kind: str) -> Response:
        return desk(self, kind).listed()

    @operation(
        "enter_network_edition",
        "Enter an edition for every shop of the network that has none of its own",
        body=NewEditionInput,
        answers={201: EditionShape},
        creates=True,
        tagged=True,
        refusals=_ENTRY_REFUSALS,
        places=_KINDS,
    )
    def post(self, request: Request, kind: str) -> HttpResponseBase:
        """It has to fit the rest of the network's; what shops have of their own is not seen from here.

        One whose first day is over needs a note, and is refused where the edition that it would displace was used.
        """
        return once(request, self.context, lambda: desk(self, kind).enter(request.path))


class NetworkEditionInForce(NetworkView):
    roles: ClassVar = {"GET": _OF_NETWORK}

    @operation(
        "get_network_edition_in_force",
        "What is in force in the network under a slug",
        answers={200: EditionShape},
        versioned=True,
        on=True,
        places=_KINDS,
    )
    def get(self, request: Request, kind: str, slug: str) -> Response:
        return desk(self, kind).one(slug)


class NetworkEditionsOfSlug(NetworkView):
    roles: ClassVar = {"GET": _OF_NETWORK, "POST": _OF_NETWORK}

    @operation(
        "list_network_editions_of_slug",
        "Every edition of the network under a slug, the latest first",
        answers={200: EditionShape},
        filters=NoFilters,
        places=_KINDS,
    )
    def get(self, request: Request, kind: str, slug: str) -> Response:
        return desk(self, kind).editions(slug)

    @operation(
        "enter_network_edition_of_slug",
        "Enter an edition of the network under the slug of the address",
        body=EditionInput,
        answers={201: EditionShape},
        creates=True,
        tagged=True,
        refusals=_ENTRY_REFUSALS,
        places=_KINDS,
    )
    def post(self, request: Request, kind: str, slug: str) -> HttpResponseBase:
        below = request.path.removesuffix(f"/{slug}/editions")
        return once(request, self.context, lambda: desk(self, kind).enter(below, slug))


class OneNetworkEdition(NetworkView):
    roles: ClassVar = {"GET": _OF_NETWORK, "PUT": _OF_NETWORK, "DELETE": _OF_NETWORK}

    @operation("get_network_edition", "One of the network's editions", answers={200: EditionShape}, tagged=True, places=_KINDS)
    def get(self, request: Request, kind: str, slug: str, edition_id: int) -> Response:
        return desk(self, kind).edition(slug, edition_id)

    @operation(
        "replace_network_edition",
        "Replace the contents of an edition that no issued quote has used",
        body=ReplacementInput,
        answers={200: EditionShape},
        tagged=True,
        changes=True,
        refusals=[*_ENTRY_REFUSALS, *_CHANGE_REFUSALS],
        places=_KINDS,
    )
    def put(self, request: Request, kind: str, slug: str, edition_id: int) -> Response:
        return desk(self, kind).replace(slug, edition_id)

    @operation(
        "withdraw_network_edition",
        "Withdraw an edition that no issued quote has used",
        answers={204: None},
        changes=True,
        refusals=["edition_used", "edition_needed", *_CHANGE_REFUSALS],
        places=_KINDS,
    )
    def delete(self, request: Request, kind: str, slug: str, edition_id: int) -> Response:
        return desk(self, kind).withdraw(slug, edition_id)


class NetworkEditionHistory(NetworkView):
    roles: ClassVar = {"GET": _OF_NETWORK}

    @operation(
        "list_network_edition_changes", "Who changed what when", answers={200: EventShape}, filters=NoFilters, places=_KINDS
    )
    def get(self, request: Request, kind: str, slug: str) -> Response:
        return desk(self, kind).history(slug)
