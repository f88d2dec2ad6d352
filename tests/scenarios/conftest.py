import pytest

from tests.rest.office import Office, office
from tests.rest.quoting import Quoting
from tests.scenarios.small_shop import SmallShop


@pytest.fixture
def here(db: None) -> Office:
    return office()


@pytest.fixture
def quoting(here: Office) -> Quoting:
    """A shop with the shipped cost base, at the clock's own time."""
    return Quoting(here)


@pytest.fixture
def small(here: Office) -> SmallShop:
    """A shop that quotes the small roof of DEVELOPERS.md section 1, at the clock's own time."""
    return SmallShop(here)
