"""Why is this number what it is? The steps to any line, amount, offered option, tier, unit price or allowance of a quote."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any, ClassVar

from django.http import Http404
from django.shortcuts import get_object_or_404
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.openapi import operation
from api.rest.quote_answers import COST_READERS, fixed
from api.rest.quotes import READERS
from costbase.calc.money import currency as currency_of
from quotes.actions.priced import ENGINE
from quotes.calc.fleet import (
    LotContext,
    why_coach_amount,
    why_own_allowance,
    why_share_of_freight,
    why_share_of_labour,
    why_share_of_material,
    why_share_of_shop,
)
from quotes.calc.why import (
    AMOUNTS,
    Context,
    Why,
    WhyStep,
    why_allowance,
    why_amount,
    why_counted,
    why_freight,
    why_labour,
    why_material,
    why_option,
    why_options,
    why_shop,
    why_tier,
    why_unit_price,
)
from quotes.models import Quote, QuoteComponent, QuoteLine
from quotes.reports.fleets import lot_worked_again
from quotes.reports.quotes import offered_of, worked_again

Row = dict[str, Any]
_OLDER = "priced by an older version of the arithmetic; this is what was stored then"


class StepShape(serializers.Serializer[Any]):
    text = serializers.CharField()
    value = serializers.CharField()
    unit = serializers.CharField()
    source = serializers.CharField(  # type: ignore[assignment]
        help_text="Survey, coach, estimator, rule, or an edition with its first day; empty for arithmetic on the steps above."
    )


class WhyShape(serializers.Serializer[Any]):
    of = serializers.CharField()
    value = serializers.CharField(help_text="Where the steps land.")
    stored = serializers.CharField(help_text="What the quote stores.")
    exact = serializers.BooleanField(
        help_text="false: priced by an older version of the arithmetic, told from what was stored."
    )
    steps = StepShape(many=True)


class WhyIndexShape(serializers.Serializer[Any]):
    lines = serializers.ListField(child=serializers.CharField())
    amounts = serializers.ListField(child=serializers.CharField())
    components = serializers.ListField(child=serializers.CharField())
    counted = serializers.ListField(child=serializers.CharField(), help_text="Unit price of each counted assembly.")
    options = serializers.ListField(
        child=serializers.CharField(), help_text="Each offered option, and all together; empty where none is offered."
    )
    tier = serializers.CharField()
    allowance = serializers.CharField()


class _WhyView(ShopView):
    """What the views below share."""

    def quote(self, quote_id: int) -> Quote:
        rows = Quote.objects.for_shop(self.context.shop).select_related("cost_base")
        quote: Quote = get_object_or_404(rows, pk=quote_id)
        return quote

    def answer(
        self,
        quote: Quote,
        of: str,
        stored: object,
        walk: Callable[[Context], Why],
        in_lot: Callable[[LotContext], Why] | None = None,
    ) -> Response:
        """The steps, walked again where the present arithmetic priced the quote; `in_lot` where a coach's share has its own."""
        if quote.engine != ENGINE:
            step = {"text": _OLDER, "value": str(stored), "unit": "", "source": f"engine {quote.engine}"}
            return Response({"of": of, "value": str(stored), "stored": str(stored), "exact": False, "steps": [step]})
        if quote.fleet_id is not None and in_lot is not None:
            why = in_lot(lot_worked_again(quote, fleet_id=quote.fleet_id))
        else:
            why = walk(worked_again(quote))
        steps = [step_shown(step, self.identity.role) for step in why.steps]
        # As many decimals as the stored figure shows: both are rounded already, so this only writes zeros.
        places = len(str(stored).partition(".")[2])
        value = f"{why.value:.{places}f}" if isinstance(why.value, Decimal) else why.value
        return Response({"of": why.of, "value": value, "stored": str(stored), "exact": True, "steps": steps})


def step_shown(step: WhyStep, role: str) -> Row:
    """One step of an answer to why."""
    shown = {"text": step.text, "value": step.value, "unit": step.unit, "source": step.source}
    if step.purchase and role not in COST_READERS:
        # Purchase prices and markups are the shop's; an estimator sees that they are a step, not what they are.
        shown["value"] = "for managers and analysts"
    return shown


class QuoteWhys(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("list_quote_whys", "What can be asked of a quote", answers={200: WhyIndexShape})
    def get(self, request: Request, quote_id: int) -> Response:
        quote = self.quote(quote_id)
        below = request.path.removesuffix("/why")
        shop = self.context.shop
        lines = QuoteLine.objects.for_shop(shop).filter(quote_id=quote.pk).order_by("position")
        components = QuoteComponent.objects.for_shop(shop).filter(quote_id=quote.pk).order_by("position")
        return Response(
            {
                "lines": [f"{below}/lines/{at}/why" for at in lines.values_list("position", flat=True)],
                "amounts": [f"{below}/amounts/{name}/why" for name in AMOUNTS],
                "components": [f"{below}/components/{at}/why" for at in components.values_list("position", flat=True)],
                "counted": [f"{below}/counted/{work['assembly']}/why" for work in quote.totals.get("counted", [])],
                "options": _option_paths(quote, below),
                "tier": f"{below}/tier/why",
                "allowance": f"{below}/why-allowance",
            }
        )


def _option_paths(quote: Quote, below: str) -> list[str]:
    found = offered_of(quote.totals)
    each = [f"{below}/options/{slug}/why" for ticked in found["options"] for slug in ticked["options"]]
    return [*each, f"{below}/options/why"] if each else []


class LineWhy(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_line", "Why does this line cost that?", answers={200: WhyShape})
    def get(self, request: Request, quote_id: int, position: int) -> Response:
        quote = self.quote(quote_id)
        rows = QuoteLine.objects.for_shop(self.context.shop).filter(quote_id=quote_id)
        line: QuoteLine = get_object_or_404(rows, position=position)
        stored = fixed(line.amount, currency_of(quote.currency).digits)
        kind = "freight" if "freight_of" in line.details else line.kind
        walks: dict[str, Callable[[Context], Why]] = {
            "labour": lambda context: why_labour(context, line.slug, line.trade),
            "material": lambda context: why_material(context, line.slug),
            "freight": lambda context: why_freight(context, line.slug),
            "shop": lambda context: why_shop(context, line.slug),
        }
        shares: dict[str, Callable[[LotContext], Why]] = {
            "labour": lambda lot: why_share_of_labour(lot, line.slug, line.trade),
            "material": lambda lot: why_share_of_material(lot, line.slug),
            "freight": lambda lot: why_share_of_freight(lot, line.slug),
            "shop": lambda lot: why_share_of_shop(lot, line.slug),
        }
        return self.answer(quote, line.name, stored, walks[kind], shares[kind])


class AmountWhy(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_amount", "Why is this sum that much?", answers={200: WhyShape})
    def get(self, request: Request, quote_id: int, name: str) -> Response:
        quote = self.quote(quote_id)
        if name not in AMOUNTS:
            raise Http404(f"Expected one of {', '.join(AMOUNTS)}.")
        stored: Decimal | str = quote.totals[name] if name in quote.totals else getattr(quote, name)
        shown = fixed(stored, currency_of(quote.currency).digits)
        return self.answer(
            quote, name, shown, lambda context: why_amount(context, name), lambda lot: why_coach_amount(lot, name)
        )


class ComponentWhy(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_unit_price", "Why this unit price of hidden work?", answers={200: WhyShape})
    def get(self, request: Request, quote_id: int, position: int) -> Response:
        quote = self.quote(quote_id)
        rows = QuoteComponent.objects.for_shop(self.context.shop).filter(quote_id=quote_id)
        part: QuoteComponent = get_object_or_404(rows, position=position)
        stored = f"{part.unit_price:.6f}"
        return self.answer(quote, part.name, stored, lambda context: why_unit_price(context, part.slug, part.construction))


class CountedWhy(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_counted", "Why is counted work settled at this unit price?", answers={200: WhyShape})
    def get(self, request: Request, quote_id: int, slug: str) -> Response:
        quote = self.quote(quote_id)
        work = next((one for one in quote.totals.get("counted", []) if one["assembly"] == slug), None)
        if work is None:
            raise Http404(f"The quote has no counted work '{slug}'.")
        return self.answer(quote, work["name"], work["unit_price"], lambda context: why_counted(context, slug))


class OptionWhy(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_option", "Why does ticking this option add that much to the limit with tax?", answers={200: WhyShape})
    def get(self, request: Request, quote_id: int, slug: str) -> Response:
        quote = self.quote(quote_id)
        ticked = next((one for one in offered_of(quote.totals)["options"] if one["options"] == [slug]), None)
        if ticked is None:
            raise Http404(f"Option '{slug}' is not offered with this quote.")
        stored = fixed(ticked["limit_with_tax"], currency_of(quote.currency).digits)
        return self.answer(quote, ticked["name"], stored, lambda context: why_option(context, slug))


class OptionsWhy(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_options", "Why do all offered options together add that much?", answers={200: WhyShape})
    def get(self, request: Request, quote_id: int) -> Response:
        quote = self.quote(quote_id)
        ticked = offered_of(quote.totals)["together"]
        if ticked is None:
            raise Http404("No option is offered with this quote.")
        stored = fixed(ticked["limit_with_tax"], currency_of(quote.currency).digits)
        return self.answer(quote, ticked["name"], stored, why_options)


class TierWhy(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_tier", "Why this severity tier?", answers={200: WhyShape})
    def get(self, request: Request, quote_id: int) -> Response:
        quote = self.quote(quote_id)
        return self.answer(quote, "tier", quote.tier, why_tier)


class AllowanceWhy(_WhyView):
    roles: ClassVar = {"GET": READERS}

    @operation("why_allowance", "Why is this much set aside?", answers={200: WhyShape})
    def get(self, request: Request, quote_id: int) -> Response:
        quote = self.quote(quote_id)
        stored = fixed(quote.allowance, currency_of(quote.currency).digits)
        return self.answer(quote, "allowance", stored, why_allowance, why_own_allowance)
