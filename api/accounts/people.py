"""How does somebody come to belong to a shop or network?"""

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from api.accounts.models import Membership, Person
from api.accounts.roles import NETWORK_ROLES, SHOP_ROLES
from costbase.calc.errors import CalculationError, raise_faults
from costbase.models import Network, Shop
from costbase.scope import assert_network_scope, assert_scope


class BadMemberError(CalculationError):
    """Somebody cannot belong to a place as asked; `field` says which detail is at fault."""

    code = "bad_member"


def enrol(*, email: str, name: str, place: Shop | Network, role: str) -> Person:
    """The person with this address, who holds a role in the place; both are made where they are missing.

    A role that the person holds there already stays as it is: this adds members and changes none. `name` may
    be empty for somebody who is known.

    Raises:
        RuntimeError: the scope of the place is not open; history keeps who made the membership.
        BadMemberError: the address, the name or the role does not fit; with several, CalculationFaults.
    """
    if isinstance(place, Shop):
        assert_scope(place.pk)
    else:
        assert_network_scope(place.pk)
    known = Person.objects.filter(email__iexact=email).first()
    _check(email, name, place, role, is_known=known is not None)
    person = known or Person.objects.create(email=email, name=name.strip())
    where = {"shop": place} if isinstance(place, Shop) else {"network": place}
    Membership.objects.get_or_create(person=person, **where, defaults={"role": role})
    return person


def _check(email: str, name: str, place: Shop | Network, role: str, *, is_known: bool) -> None:
    faults: list[CalculationError] = []
    try:
        validate_email(email)
    except ValidationError:
        faults.append(BadMemberError(f"expected an e-mail address, got {email!r}", field="email", value=email))
    if not is_known and not 0 < len(name.strip()) <= 200:
        faults.append(BadMemberError("expected a name of 1 to 200 characters", field="name", value=name))
    roles = SHOP_ROLES if isinstance(place, Shop) else NETWORK_ROLES
    if role not in roles:
        message = f"expected {' or '.join(sorted(roles))} in {place}, got {role!r}"
        faults.append(BadMemberError(message, field="role", value=role))
    raise_faults(faults)
