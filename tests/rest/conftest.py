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
    turn_to(clock, monkeypatch)
    return clock


def turn_to(clock: Clock, patch: pytest.MonkeyPatch) -> None:
    """Puts a clock where everything that asks for the time of a quote looks."""
    for module in (priced, issuing, accepting, fleet_answers, links, owner, change_orders, found_links, settlements):
        patch.setattr(module, "timezone", clock)


@pytest.fixture
def quoting(here: Office, clock: Clock) -> Quoting:
    """The shop that a test is about, ready to quote on 2 March 2026."""
    return Quoting(here)


@pytest.fixture
def small(here: Office, clock: Clock) -> SmallShop:
    """The shop that a test is about, ready to quote the small roof of DEVELOPERS.md section 1 on 2 March 2026."""
    return SmallShop(here)
