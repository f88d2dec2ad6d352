"""Does what a request refers to stand in this shop, and is what it makes not there already?"""

from collections.abc import Collection, Iterable
from typing import TypeVar
from uuid import UUID

from django.db.models import Model, Q, QuerySet

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from quotes.models import Customer

M = TypeVar("M", bound=Model)


class OtherShopError(CalculationError):
    """A reference to something that is not in this shop."""

    code = "other_shop"


class AlreadyThereError(CalculationError):
    """Something that the client made before under the same id."""

    code = "already_there"


def must_be_new(rows: QuerySet[M], client_id: UUID | None) -> None:
    """Raises nothing while none of the shop's rows has this id of the client's.

    Raises:
        AlreadyThereError: with the id of the row that has it.
    """
    found = None if client_id is None else rows.filter(client_id=client_id).first()
    if found is not None:
        raise AlreadyThereError(f"it was made before and has the id {found.pk}", field="client_id", value=client_id)


def customers_missing(shop: Shop, wanted: Collection[int], standing: Iterable[object]) -> set[int]:
    """Which of these customers nothing new may refer to: those of other shops, and erased ones.

    Args:
        shop: whose customers they have to be.
        wanted: ids.
        standing: ids, or a query of them, that the thing refers to already; one of them that was erased since may stay.
    """
    known = Customer.objects.for_shop(shop).filter(Q(erased_at=None) | Q(pk__in=standing), pk__in=wanted)
    return set(wanted) - set(known.values_list("pk", flat=True))


def other_customer(customer_id: int, field: str) -> OtherShopError:
    """The refusal of a customer that is not in this shop."""
    return OtherShopError(f"expected the id of a customer of this shop, not {customer_id}", field=field, value=customer_id)
