"""Does what a request refers to stand in this shop, and is what it makes not there already?"""

from typing import TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet

from costbase.calc.errors import CalculationError

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
