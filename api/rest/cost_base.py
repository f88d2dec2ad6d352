"""Which kinds of editions have an address?"""

from api.rest.assemblies import ASSEMBLIES
from api.rest.components import COMPONENTS
from api.rest.conditions import CONDITIONS
from api.rest.edition_kinds import EditionKind
from api.rest.materials import MATERIALS
from api.rest.plans import PLANS
from api.rest.prices import PRICES
from api.rest.rates import RATES
from api.rest.rules import RULES
from api.rest.severity_rules import SEVERITY_RULES
from api.rest.tiers import TIERS

EDITION_KINDS: dict[str, EditionKind] = {
    kind.path: kind
    for kind in (
        RATES, MATERIALS, PRICES, ASSEMBLIES, PLANS, CONDITIONS, RULES, COMPONENTS, TIERS, SEVERITY_RULES,
    )
}  # fmt: skip


class KindConverter:
    """The part of an address that names a kind of edition: `<kind:kind>`."""

    regex = "|".join(EDITION_KINDS)

    def to_python(self, value: str) -> str:
        """As it stands; `EDITION_KINDS` says what it means."""
        return value

    def to_url(self, value: str) -> str:
        """The same."""
        return value
