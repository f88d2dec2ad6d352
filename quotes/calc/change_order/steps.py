"""Why is a line of a change order what it is? The steps to its amount, from what the line keeps.

Of goods: what was needed and bought before, what this order needs, and what all of it comes to in packs.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import cast

from costbase.calc.money import Currency

Step = tuple[str, str, str]
Row = Mapping[str, object]


def line_steps(line: Row, currency: Currency) -> list[Step]:
    """The steps to a stored line, each as words, value and unit; the last is its amount.

    Args:
        line: with `kind`, `quantity`, `unit`, `price`, `amount` and `details`.
        currency: of the line.
    """
    details = cast(Row, line["details"])
    told = {"labour": _labour, "material": _goods, "repair": _repair, "shop": _shop}.get(str(line["kind"]), _none)
    steps = told(details)
    if "priced_on" in details:
        steps.append(("not in the job's own cost base: by the editions in force on", str(details["priced_on"]), ""))
    money = f"{Decimal(str(line['amount'])):.{currency.digits}f}"
    steps.append(("quantity", _plain(line["quantity"]), str(line["unit"])))
    steps.append(("price of one", _plain(line["price"]), currency.code))
    steps.append(("amount, rounded once", money, currency.code))
    return steps


def _labour(details: Row) -> list[Step]:
    if "template_hours" not in details:
        return [("hours, as entered for this order", "", str(details["reason"]))]
    steps = [
        ("how much of it", str(details["driver"]), ""),
        ("hours by the template", str(details["template_hours"]), "h"),
    ]
    for each in cast(Sequence[Row], details["multipliers"]):
        steps.append((f"condition {each['condition']}: {each['reason']}", str(each["factor"]), ""))
    return steps


def _goods(details: Row) -> list[Step]:
    if "freight_of" in details:
        return [(f"a further purchase of {details['freight_of']} is brought by a further delivery", "1", "order")]
    unit, pack = str(details["unit"]), str(details["pack"])
    return [
        ("needed before this order, without waste", str(details["net_before"]), unit),
        *((f"needed for {part['source']}", str(part["net"]), unit) for part in cast(Sequence[Row], details["parts"])),
        ("needed in all, without waste", str(details["net_all"]), unit),
        ("with waste, once over everything", str(details["with_waste"]), unit),
        ("comes to in all", str(details["needed_all"]), pack),
        ("bought before", str(details["bought_before"]), pack),
    ]


def _repair(details: Row) -> list[Step]:
    if details.get("part") == "set_up":
        return [("set-up, charged once for the component", "", "")]
    return [
        ("extent x agreed unit price, rounded", str(details["work"]), ""),
        ("of which this line is", str(details["part"]), ""),
    ]


def _shop(details: Row) -> list[Step]:
    steps = [("worked on", str(details["worked_on"]), "")]
    if "labour_before" in details:
        steps.append(("labour of the job before", str(details["labour_before"]), ""))
        steps.append(("charged before, of the cap over the whole job", str(details["supplies_before"]), ""))
    return steps


def _none(details: Row) -> list[Step]:
    return []


def _plain(value: object) -> str:
    return f"{Decimal(str(value)).normalize():f}"
