"""How is a memo kept by a value that is never changed and cannot be hashed cheaply?

By the very object: an edition is parsed once, and its fifty fields need not be compared to know it again.
"""

from typing import Generic, TypeVar

T = TypeVar("T")


class Same(Generic[T]):
    """A value as a key of `lru_cache` that is equal to the same object only; while it is kept, so is the object."""

    __slots__ = ("value",)

    def __init__(self, value: T) -> None:
        self.value = value

    def __hash__(self) -> int:
        return id(self.value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.value is self.value
