"""What do all tables of a shop, and all tables of a network, have in common?

Every table of the service is in one of four classes. A *shop* table's rows belong to one shop and are shown
by row policy only while that shop's scope is open; a *network* table's likewise for a network; *identity*
tables say who may open which scope, so they are read before one is open; *shared* tables belong to nobody.
`ShopOwned` and `NetworkOwned` are the first two.

Django believes that `id` alone is the key. In PostgreSQL the primary key of a shop table is (shop_id, id),
and a foreign key between two tables of a shop carries shop_id, so that no row can point into another shop.
Such a key is therefore declared with ``db_constraint=False`` here and made by the SQL that ``manage.py
table_policies`` prints for a migration.
"""

from collections.abc import Callable, Sequence
from typing import ClassVar, Self, TypeVar

import pghistory
from django.db import models
from django.db.models.manager import BaseManager

from costbase.models.shop import Network, Shop

M = TypeVar("M", bound=models.Model)


class ShopRows(BaseManager[M]):
    """The way into a shop's rows: there is `for_shop` and nothing else."""

    def for_shop(self, shop: Shop | int) -> models.QuerySet[M]:
        """The rows of this shop. The row policy hides others anyway; this says which shop the caller
        means.
        """
        rows = models.QuerySet[M](self.model, using=self._db)
        return rows.filter(shop_id=shop if isinstance(shop, int) else shop.pk)


class NetworkRows(BaseManager[M]):
    """The way into a network's rows: there is `for_network` and nothing else."""

    def for_network(self, network: Network | int) -> models.QuerySet[M]:
        """The rows of this network."""
        rows = models.QuerySet[M](self.model, using=self._db)
        return rows.filter(network_id=network if isinstance(network, int) else network.pk)


class ShopOwned(models.Model):
    """A table of the shop class.

    A subclass may say ``append_only = True``: the service's login role is then granted SELECT and INSERT,
    nothing else.
    """

    append_only: ClassVar[bool] = False

    # Without an index of its own: the primary key (shop_id, id) begins with it.
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="+", db_index=False)

    objects: ClassVar[ShopRows[Self]] = ShopRows()
    # Django's own machinery (reverse accessors, validation) needs a full manager; nobody else uses it.
    _rows: ClassVar[models.Manager[Self]] = models.Manager()

    class Meta:
        abstract = True
        default_manager_name = "_rows"


class NetworkOwned(models.Model):
    """A table of the network class: read in its shops' scopes, written in its own only. `append_only` as in
    `ShopOwned`.
    """

    append_only: ClassVar[bool] = False

    network = models.ForeignKey(Network, on_delete=models.PROTECT, related_name="+", db_index=False)

    objects: ClassVar[NetworkRows[Self]] = NetworkRows()
    _rows: ClassVar[models.Manager[Self]] = models.Manager()

    class Meta:
        abstract = True
        default_manager_name = "_rows"


class HistoryEvent(pghistory.models.Event):
    """One remembered insert, update or delete of a tracked row.

    Its author is written into the event itself (`pgh_context`), never into a row that several events share: a
    shared row could be overwritten, and with it the author of somebody else's change. The column is not null,
    so a change outside every scope, whose author nobody knows, is refused.
    """

    append_only: ClassVar[bool] = True

    pgh_id = models.BigAutoField(primary_key=True)

    class Meta:
        abstract = True


class ShopEvent(HistoryEvent):
    """An event of a shop table; it has the tracked row's shop_id and is a shop table too."""

    objects: ClassVar[ShopRows[Self]] = ShopRows()  # type: ignore[assignment]
    _rows: ClassVar[models.Manager[Self]] = models.Manager()

    class Meta:
        abstract = True
        default_manager_name = "_rows"


class NetworkEvent(HistoryEvent):
    """An event of a network table; it has the tracked row's network_id and is a network table too."""

    objects: ClassVar[NetworkRows[Self]] = NetworkRows()  # type: ignore[assignment]
    _rows: ClassVar[models.Manager[Self]] = models.Manager()

    class Meta:
        abstract = True
        default_manager_name = "_rows"


def row_policy_of(model: type[models.Model]) -> str:
    """Whose rows the row policies of its table tell apart: "shop", "network", or "" where it has none."""
    if issubclass(model, ShopOwned | ShopEvent):
        return "shop"
    return "network" if issubclass(model, NetworkOwned | NetworkEvent) else ""


def tracked_without(*fields: str) -> Callable[[type[M]], type[M]]:
    """The decorator `tracked`, for a model with large columns that its events need not repeat."""

    def decorate(model: type[M]) -> type[M]:
        return tracked(model, fields)

    return decorate


def tracked(model: type[M], without: Sequence[str] = ()) -> type[M]:
    """Class decorator: every insert, update and delete of the model's rows leaves an event with its author.

    Makes the model `<Model>Event` in the same application, in the same class of table. Tables whose rows are
    only ever inserted need no history and are not decorated.
    """
    owner = row_policy_of(model)
    base = {"shop": ShopEvent, "network": NetworkEvent, "": HistoryEvent}[owner]
    track = pghistory.track(
        pghistory.InsertEvent(),
        pghistory.UpdateEvent(),
        pghistory.DeleteEvent(),
        base_model=base,
        exclude=list(without),
        model_name=f"{model.__name__}Event",
        context_field=pghistory.ContextJSONField(null=False),
        context_id_field=None,  # type: ignore[arg-type]  # None is what its documentation asks for
        obj_field=pghistory.ObjForeignKey(related_name="+", db_index=False),
        meta={"indexes": [models.Index(fields=[owner, "pgh_obj"] if owner else ["pgh_obj"])]},
    )
    decorated: type[M] = track(model)
    return decorated
