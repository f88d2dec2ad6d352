import pytest

from api.rest import change_orders, found_links, links, owner, settlements
from quotes.actions import accepting, fleet_answers, issuing, priced
from tests.rest.office import Office, office
from tests.rest.quoting import Clock, Quoting
from tests.scenarios.small_shop import SmallShop


@pytest.fixture
def here(db: None) -> Office:
    """The shop that a test is about."""
    return office()


@pytest.fixture
def elsewhere(db: None) -> Office:
    """Another shop, in another network."""
    return office()


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """What quotes take for now; a test turns it."""
    clock = Clock()
    for module in (priced, issuing, accepting, fleet_answers, links, owner, change_orders, found_links, settlements):
        monkeypatch.setattr(module, "timezone", clock)
    return clock


@pytest.fixture
def quoting(here: Office, clock: Clock) -> Quoting:
    """The shop that a test is about, ready to quote on 2 March 2026."""
    return Quoting(here)


@pytest.fixture
def small(here: Office, clock: Clock) -> SmallShop:
    """The shop that a test is about, ready to quote the small roof of DEVELOPERS.md section 1 on 2 March 2026."""
    return SmallShop(here)
