"""How are customers added, changed and erased?"""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.references import must_be_new
from quotes.models import ConsentGiver, Customer

_DETAILS = ("kind", "name", "contacts", "authorisers", "note")


class AlreadyErasedError(CalculationError):
    """A change of a customer whose data was erased."""

    code = "already_erased"


@dataclass(frozen=True, slots=True)
class CustomerDetails:
    """What a customer row says about a person or company; see `Customer` for the form of both lists."""

    kind: str
    name: str
    contacts: Sequence[dict[str, str]]
    authorisers: Sequence[dict[str, str]]
    note: str


def details_of(customer: Customer) -> CustomerDetails:
    """The details as they stand."""
    return CustomerDetails(
        kind=customer.kind,
        name=customer.name,
        contacts=customer.contacts,
        authorisers=customer.authorisers,
        note=customer.note,
    )


def add_customer(*, by: Actor, shop: Shop, details: CustomerDetails, client_id: UUID | None = None) -> Customer:
    """Adds a customer.

    Raises:
        AlreadyThereError: a customer with this client's id is there.
    """
    assert_scope(shop.pk)
    must_be_new(Customer.objects.for_shop(shop), client_id)
    customer = Customer(shop=shop, client_id=client_id)
    _write(customer, details)
    customer.save(force_insert=True)
    return customer


def change_customer(*, by: Actor, customer: Customer, details: CustomerDetails) -> Customer:
    """Changes a customer whose row the caller has locked.

    Raises:
        AlreadyErasedError: nothing is left to change; whoever comes back is a new customer.
    """
    _must_stand(customer)
    _write(customer, details)
    customer.version += 1
    customer.save(update_fields=[*_DETAILS, "version", "changed"])
    return customer


def erase_customer(*, by: Actor, customer: Customer, now: datetime) -> Customer:
    """Erases everything that says who a customer is; the row stays, because coaches and quotes refer to it.

    What is kept are digests of the name and of each contact under a salt of this row's own: they prove a name
    that somebody brings, and cannot be searched for names nobody has brought.

    Raises:
        AlreadyErasedError: it was erased before.
    """
    _must_stand(customer)
    salt = secrets.token_bytes(16)
    words = [customer.name, *(contact["value"] for contact in customer.contacts)]
    customer.digest_salt = salt
    customer.digests = sorted({digest(word, salt) for word in words})
    _write(customer, replace(details_of(customer), name="", contacts=(), authorisers=(), note=""))
    customer.erased_at = now
    customer.erased_by = by.person_id
    customer.version += 1
    customer.save(update_fields=[*_DETAILS, "digest_salt", "digests", "erased_at", "erased_by", "version", "changed"])
    # What they consented to stands; who it was is in the records' salted digests alone from now on.
    given = ConsentGiver.objects.for_shop(customer.shop_id).filter(customer_id=customer.pk, erased_at=None)
    given.update(name="", contact="", address="", agent="", erased_at=now)
    return customer


def digest(words: str, salt: bytes) -> str:
    """The salted digest of a name or contact, the same for any case and spacing of it."""
    return hashlib.sha256(salt + "".join(words.casefold().split()).encode()).hexdigest()


def _must_stand(customer: Customer) -> None:
    assert_scope(customer.shop_id)
    if customer.erased_at is not None:
        raise AlreadyErasedError("the customer's data was erased; expected a customer that still has it")


def _write(customer: Customer, details: CustomerDetails) -> None:
    customer.kind = details.kind
    customer.name = details.name
    customer.contacts = list(details.contacts)
    customer.authorisers = list(details.authorisers)
    customer.note = details.note
