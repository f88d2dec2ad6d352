"""Which further look before signing would do most to the limit?"""

from typing import Any, ClassVar

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.openapi import operation
from api.rest.quote_answers import fixed
from api.rest.quotes import READERS, of_this_engine
from costbase.calc.money import currency as currency_of
from costbase.calc.money import decimal_quantity
from quotes.calc.looks import NextLook, next_looks
from quotes.reports.quotes import worked_again

Row = dict[str, Any]


class FindingShape(serializers.Serializer[Any]):
    rotten = serializers.IntegerField(help_text="Patches of the look that are found rotten.")
    chance = serializers.FloatField()
    found = serializers.CharField(help_text="What putting them right costs, at the agreed unit price with the set-up.")
    limit = serializers.CharField(help_text="The limit after it, before tax.")


class LookShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    component = serializers.CharField()
    construction = serializers.CharField()
    assembly = serializers.CharField(help_text="The work of looking; an option that can be sold.")
    extent = serializers.CharField(help_text="How much of the component is seen, in its unit.")
    unit = serializers.CharField()
    patches = serializers.IntegerField(help_text="How many independent patches the look tells about.")
    price = serializers.CharField(help_text="What the owner pays for the look, before tax.")
    chance_lower = serializers.FloatField(help_text="Chance that the limit falls.")
    expected_limit = serializers.CharField(help_text="Mean of the limit after the look.")
    gain = serializers.CharField(help_text="The limit now, less the expected limit, less the price.")
    findings = FindingShape(many=True)


class NextLooksShape(serializers.Serializer[Any]):
    limit = serializers.CharField(help_text="The limit as it stands, before tax.")
    currency = serializers.CharField()
    looks = LookShape(many=True, help_text="The best next look first. Empty: nothing that can be looked at is exposed.")
    assumes = serializers.CharField()


_ASSUMES = (
    "Rot comes in patches of the component's size, found rotten as often as the quote expects; accuracy on real roofs is not "
    "known. A look changes what is known, not what is there, and nobody walks on a deck that may be rotten to make one."
)


class NextLooks(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "next_looks",
        "What a further look would cost and do to the limit",
        answers={200: NextLooksShape},
        refusals=["older_engine"],
    )
    def get(self, request: Request, quote_id: int) -> Response:
        """Worked from the quote's own sample points, at its own unit prices; nothing is changed."""
        quote = of_this_engine(self, quote_id)
        again = worked_again(quote)
        spread = again.rules.survey_spread[again.inputs.survey.method]
        looks = next_looks(again.quote, again.cost_base, again.factors, spread, again.points)
        digits = currency_of(quote.currency).digits
        units = {work.component.slug: work.component.unit for work in again.quote.hidden}
        return Response(
            {
                "limit": fixed(quote.limit, digits),
                "currency": quote.currency,
                "looks": [_look(look, units[look.component], digits) for look in looks],
                "assumes": _ASSUMES,
            }
        )


def _look(look: NextLook, unit: str, digits: int) -> Row:
    return {
        **{name: getattr(look, name) for name in ("name", "component", "construction", "assembly", "patches", "chance_lower")},
        **{name: fixed(getattr(look, name), digits) for name in ("price", "expected_limit", "gain")},
        "extent": str(decimal_quantity(look.extent)),
        "unit": unit,
        "findings": [
            {
                "rotten": finding.rotten,
                "chance": finding.chance,
                "found": fixed(finding.found, digits),
                "limit": fixed(finding.limit, digits),
            }
            for finding in look.findings
        ],
    }
