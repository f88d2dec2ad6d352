"""Between which bounds lies a chance of which so many of so many were seen?"""

from scipy.special import betaincinv

# The central 95 % of what is believed after the counts, when every chance was as likely before them.
_TAIL = 0.025


def binomial_interval(seen: int, of: int) -> tuple[float, float]:
    """The central 95 % interval of a chance, from a uniform prior: Beta(seen + 1, of - seen + 1).

    Args:
        seen: how many, from 0 to `of`.
        of: how many there were; with 0 the interval says that nothing is known.

    Source: Bayes's rule for a binomial count; A. Gelman and others, Bayesian Data Analysis, 3rd edition, section 2.4.
    """
    above, below = seen + 1.0, of - seen + 1.0
    return float(betaincinv(above, below, _TAIL)), float(betaincinv(above, below, 1.0 - _TAIL))
