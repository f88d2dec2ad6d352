"""Which roles are there, and which may hand out which?"""

ESTIMATOR = "estimator"
MANAGER = "manager"
ANALYST = "analyst"
NETWORK_MANAGER = "network_manager"

SHOP_ROLES = frozenset({ESTIMATOR, MANAGER, ANALYST})
NETWORK_ROLES = frozenset({NETWORK_MANAGER})
ROLES = SHOP_ROLES | NETWORK_ROLES

# The right-hand side may do nothing that the left-hand side may not. Estimator and analyst stand beside each
# other: one writes quotes and sees no cost, the other sees cost and writes no quotes, so neither may hand out
# the other.
_WITHIN = {
    MANAGER: frozenset({MANAGER, ESTIMATOR, ANALYST}),
    ESTIMATOR: frozenset({ESTIMATOR}),
    ANALYST: frozenset({ANALYST}),
    NETWORK_MANAGER: frozenset({NETWORK_MANAGER}),
}


def is_within(role: str, ceiling: str) -> bool:
    """Whether somebody with the role `ceiling` may do everything that `role` may."""
    return role in _WITHIN[ceiling]
