"""How is a roof read from the document that a coach keeps?

The document has the attributes of `Roof` and its parts under their own names, with measures as
`documents.stored` wrote them.
"""

from typing import Any

from cattrs import Converter

from quotes.calc.geometry import Roof
from quotes.exchange.documents import Document

# A document of another shape than the present classes have is a fault of ours, never something to guess
# about.
_converter = Converter(forbid_extra_keys=True)
_converter.register_structure_hook(float, lambda value, _: _canonical(value))
_converter.register_structure_hook(float | None, lambda value, _: None if value is None else _canonical(value))


def roof_from(document: Document) -> Roof:
    """The roof that a coach's document describes, not yet checked."""
    return _converter.structure(document, Roof)


def _canonical(value: Any) -> float:
    """A measure's canonical value; `edge_sweep` in degrees is a measure like any other."""
    return float(value["canonical"])
