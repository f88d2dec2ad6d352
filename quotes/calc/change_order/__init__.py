"""What does a change of an agreed job cost, and what is authorised after it?"""

from quotes.calc.change_order.limits import (
    AgreedLimit,
    Authorised,
    NoTaxClassError,
    authorised_after,
    line_tax_class,
    lines_by_class,
)

__all__ = ["AgreedLimit", "Authorised", "NoTaxClassError", "authorised_after", "line_tax_class", "lines_by_class"]
