"""By what is a line shared out where nobody has anything of its own?"""

from collections.abc import Sequence
from decimal import Decimal


def weights(own: Sequence[Decimal]) -> Sequence[Decimal]:
    """What a line is shared by: what each coach has of its own, or the same for all where that rounds to nothing for all.

    Args:
        own: hours, needs or amounts of the coaches that take part in the line, none negative.
    """
    return own if any(own) else [Decimal(1)] * len(own)
