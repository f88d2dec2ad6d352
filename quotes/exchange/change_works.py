"""How is the work that a change order asks for kept as JSON, and read back to the same values?"""

from decimal import Decimal
from typing import Any

from cattrs import Converter

from quotes.calc.change_order import AssemblyWork, GoodsWork, HoursWork, RepairWork, SubcontractWork, Work

Json = dict[str, Any]

KINDS: dict[str, type[Work]] = {
    "assembly": AssemblyWork,
    "repair": RepairWork,
    "material": GoodsWork,
    "hours": HoursWork,
    "subcontract": SubcontractWork,
}
_NAMES = {kind: name for name, kind in KINDS.items()}
_converter = Converter(forbid_extra_keys=True)
_converter.register_unstructure_hook(Decimal, str)
_converter.register_structure_hook(Decimal, lambda value, _: Decimal(value))
# A measure's value is a number, yes or no, or a word; JSON tells them apart.
_converter.register_structure_hook(float | bool | str, lambda value, _: value)


def work_to_json(work: Work) -> Json:
    """A piece of work as plain JSON values, with its kind."""
    return {"kind": _NAMES[type(work)], **_converter.unstructure(work)}


def work_from_json(kept: Json) -> Work:
    """The work that `work_to_json` wrote."""
    kind = KINDS[kept["kind"]]
    return _converter.structure({name: value for name, value in kept.items() if name != "kind"}, kind)
