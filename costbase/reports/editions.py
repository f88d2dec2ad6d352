"""Which editions of a kind are there, which of them is in force, and who changed what?

Rows come as dictionaries with the same names for a shop and a network, so that both stand in one list: a shop's own beside its
network's. Each is a part of one statement, put together and cut into pages by whoever shows it.
"""

from datetime import date
from typing import Any

from django.apps import apps
from django.db.models import (
    BigIntegerField,
    BooleanField,
    CharField,
    DateField,
    Exists,
    ExpressionWrapper,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    Window,
)
from django.db.models.functions import Lag

from costbase.models import Network, NetworkEdition, Shop, ShopEdition

Rows = QuerySet[Any, dict[str, Any]]

COLUMNS = (
    "owner", "id", "kind", "slug", "valid_from", "contents", "note", "version", "used", "withdrawn_on", "created",
    "overrides", "follows", "source_day", "network_id_now", "network_day_now", "standing",
)  # fmt: skip
_EVENT = ("valid_from", "contents", "note", "used", "withdrawn_on")


def in_force(place: Shop | Network, kind: str, day: date) -> list[Rows]:
    """What is in force on a day: a shop's own editions, and its network's under all other slugs."""
    if isinstance(place, Network):
        return [_of_network(place.pk, _newest(_network_rows(place.pk, kind), day), day)]
    own = _own_in_force(place, kind, day)
    under = _newest(_network_rows(place.network_id, kind), day)
    return [_of_shop(place, own, day), _of_network(place.network_id, under.exclude(_exists(own)), day)]


def editions(place: Shop | Network, kind: str, slug: str, today: date) -> list[Rows]:
    """Every edition under a slug, a shop's own and its network's, withdrawn ones too."""
    if isinstance(place, Network):
        return [_of_network(place.pk, _network_rows(place.pk, kind).filter(slug=slug), today)]
    own = ShopEdition.objects.for_shop(place).filter(kind=kind, slug=slug)
    of_network = _network_rows(place.network_id, kind).filter(slug=slug)
    overridden = _exists(_own_in_force(place, kind, today))
    return [_of_shop(place, own, today), _of_network(place.network_id, of_network, today, unless=overridden)]


def one_edition(place: Shop | Network, kind: str, slug: str, edition_id: int, today: date) -> dict[str, Any] | None:
    """One edition of the place's own; None where there is none."""
    own, *_ = editions(place, kind, slug, today)
    return own.filter(id=edition_id).first()


def history(place: Shop | Network, kind: str, slug: str) -> Rows:
    """Every change of a place's own editions under a slug, with what stood there before it (`was_...`)."""
    if isinstance(place, Shop):
        ids: QuerySet[Any, Any] = ShopEdition.objects.for_shop(place).filter(kind=kind, slug=slug).values("pk")
        events: QuerySet[Any] = apps.get_model("costbase", "ShopEditionEvent").objects.for_shop(place)
        names: tuple[str, ...] = (*_EVENT, "follows_network")
    else:
        ids = NetworkEdition.objects.for_network(place).filter(kind=kind, slug=slug).values("pk")
        events = apps.get_model("costbase", "NetworkEditionEvent").objects.for_network(place)
        names = _EVENT
    before = {f"was_{name}": Window(Lag(name), partition_by=F("pgh_obj_id"), order_by=F("pgh_id").asc()) for name in names}
    of_slug = events.filter(pgh_obj_id__in=ids).annotate(**before)
    told: Rows = of_slug.values("pgh_id", "pgh_created_at", "pgh_label", "pgh_context", "id", *names, *before)
    return told


def _network_rows(network: int, kind: str) -> QuerySet[NetworkEdition]:
    return NetworkEdition.objects.for_network(network).filter(kind=kind)


def _begun(rows: QuerySet[Any], day: date) -> QuerySet[Any]:
    return rows.filter(valid_from__lte=day, withdrawn_on=None)


def _newest(rows: QuerySet[Any], day: date) -> QuerySet[Any]:
    """The row of each slug that no other of the same owner has followed by the day."""
    later = _begun(rows, day).filter(slug=OuterRef("slug"), valid_from__gt=OuterRef("valid_from"))
    return _begun(rows, day).filter(~Exists(later))


def _own_in_force(shop: Shop, kind: str, day: date) -> QuerySet[Any]:
    return _newest(ShopEdition.objects.for_shop(shop).filter(kind=kind), day).filter(follows_network=False)


def _exists(rows: QuerySet[Any]) -> Exists:
    return Exists(rows.filter(slug=OuterRef("slug")))


def _of_shop(shop: Shop, rows: QuerySet[Any], day: date) -> Rows:
    kinds = ShopEdition.objects.for_shop(shop).filter(kind=OuterRef("kind"))
    later = _begun(kinds, day).filter(slug=OuterRef("slug"), valid_from__gt=OuterRef("valid_from"))
    of_network = NetworkEdition.objects.for_network(shop.network_id)
    source = of_network.filter(pk=OuterRef("came_from"))
    now = _begun(of_network.filter(kind=OuterRef("kind"), slug=OuterRef("slug")), day).order_by("-valid_from")
    return _columns(
        rows,
        owner=Value("shop", CharField()),
        overrides=F("came_from"),
        follows=F("follows_network"),
        source_day=Subquery(source.values("valid_from")[:1]),
        network_id_now=Subquery(now.values("pk")[:1]),
        network_day_now=Subquery(now.values("valid_from")[:1]),
        standing=_stands(day, later),
    )


def _of_network(network: int, rows: QuerySet[Any], day: date, unless: Exists | None = None) -> Rows:
    kinds = NetworkEdition.objects.for_network(network).filter(kind=OuterRef("kind"))
    later = _begun(kinds, day).filter(slug=OuterRef("slug"), valid_from__gt=OuterRef("valid_from"))
    standing = _stands(day, later)
    return _columns(
        rows,
        owner=Value("network", CharField()),
        overrides=Value(None, BigIntegerField()),
        follows=Value(False, BooleanField()),
        source_day=Value(None, DateField()),
        network_id_now=Value(None, BigIntegerField()),
        network_day_now=Value(None, DateField()),
        standing=standing if unless is None else standing & ~Q(unless),
    )


def _stands(day: date, later: QuerySet[Any]) -> Q:
    """Whether a row is in force on the day among its owner's."""
    return Q(valid_from__lte=day, withdrawn_on=None) & ~Q(Exists(later))


def _columns(rows: QuerySet[Any], *, standing: Q, **further: Any) -> Rows:
    told = ExpressionWrapper(standing, output_field=BooleanField())
    columns: Rows = rows.annotate(**further, standing=told).values(*COLUMNS)
    return columns
