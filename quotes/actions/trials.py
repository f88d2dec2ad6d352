"""What do drafts of editions do to chosen coaches and to quotes that were issued?

Each is worked out twice from the same inputs, for the same day and with the same record of the shop: on what is in force, and
on that with the drafts laid over it. An offer of last year is compared with its stored figures too, so that what newer editions
have changed since is told apart from what the drafts would change. Writes nothing.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from costbase.actions.drafts import EditionDraft, Overlay, lay_over
from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.money import NotDecimalError
from costbase.models import Shop
from costbase.scope import assert_scope
from costbase.snapshot import InForce, laid_out
from quotes.actions.references import OtherShopError
from quotes.actions.stored_figures import stored_figures
from quotes.calc.compared import Compared, Figures, compare, figures_of
from quotes.calc.contingency import CostFactors, PointsError
from quotes.calc.fleet import Fleet, compute_fleet
from quotes.calc.frozen_base import part_read
from quotes.calc.inputs import QuoteInputs
from quotes.calc.quote import Quote as Worked
from quotes.calc.quote import compute_quote
from quotes.exchange.frozen import factors_from_json, inputs_from_json
from quotes.exchange.kept_kinds import severity_contents
from quotes.models import Quote
from quotes.snapshot import cost_factors, points, severity_rules

# What a trial reads of a quote: never the atoms, the request or what it cost to make.
_READ = (
    "id", "number", "revision", "state", "reference", "coach_id", "priced_on", "issued_at", "engine", "plan", "tier", "hours",
    "cost", "base", "record", "allowance", "reserve", "contingency", "limit", "base_with_tax", "limit_with_tax",
    "totals", "told", "inputs", "factors", "fleet_id", "place",
)  # fmt: skip
# Faults of the service are no refusal of what it was given.
_OURS = (PointsError, NotDecimalError)


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which quotes are tried: the last issued so many (superseded revisions left aside), and those with these ids."""

    last_issued: int
    ids: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Side:
    """One working: its figures, or why it could not be worked out."""

    figures: Figures | None
    refusal: CalculationError | None


@dataclass(frozen=True)
class Tried:
    """One coach or quote without and with the drafts.

    `quote` is the stored quote with the `stored` figures, None for a coach; `place` is the coach's in the request.
    """

    quote: Quote | None
    place: int | None
    stored: Figures | None
    without: Side
    with_drafts: Side

    @cached_property
    def change(self) -> Compared | None:
        """What the drafts change; None where one of both could not be worked out."""
        return _compared(self.without.figures, self.with_drafts.figures)

    @cached_property
    def drift(self) -> Compared | None:
        """What has changed since the quote was kept, without the drafts; None for a coach."""
        return _compared(self.stored, self.without.figures)


@dataclass(frozen=True, slots=True)
class Trial:
    """What a trial came to."""

    day: date
    overlay: Overlay
    quotes: tuple[Tried, ...]
    coaches: tuple[Tried, ...]


def try_editions(
    *, shop: Shop, day: date, drafts: Sequence[EditionDraft], chosen: Chosen, coaches: Sequence[QuoteInputs]
) -> Trial:
    """Works every chosen quote and coach out on a day without and with drafts of editions.

    Args:
        shop: whose scope is open.
        day: on which all of them are worked out.
        drafts: each kind and slug once.
        chosen: quotes of this shop.
        coaches: frozen inputs of quotes that nobody keeps.

    Raises:
        CalculationFaults: a draft that cannot be saved, or a quote that the shop does not have; each with its field in the
            request (``editions/0/contents/...``, ``quotes/ids/0``).
    """
    assert_scope(shop.pk)
    overlay = checked_overlay(shop, day, drafts)
    found = chosen_quotes(shop, chosen)
    sides = Sides(shop, day, overlay)
    stored = stored_figures(shop, found)
    fleets = _coaches_of(shop, found)
    quotes = tuple(Tried(quote, None, stored[quote.pk], *_both(sides, quote, fleets)) for quote in found)
    record = cost_factors()
    tried = tuple(Tried(None, place, None, *sides.both(inputs, record)) for place, inputs in enumerate(coaches))
    return Trial(day, overlay, quotes, tried)


def checked_overlay(shop: Shop, day: date, drafts: Sequence[EditionDraft]) -> Overlay:
    """What would be in force with the drafts, beside what is.

    Raises:
        CalculationFaults: drafts that cannot be saved, with fields below ``editions``.
    """
    try:
        return lay_over(shop=shop, day=day, drafts=drafts, read_severity=severity_contents)
    except CalculationError as fault:
        # Drafts are told with their place in the request; an edition in force that cannot be read stands in none.
        if fault.code != "edition_unreadable":
            fault.under("editions")
        raise


def chosen_quotes(shop: Shop, chosen: Chosen) -> list[Quote]:
    """The chosen quotes, the newest first, each once; one query for those with ids and one for the last issued.

    Raises:
        OtherShopError, CalculationFaults: ids that no quote of this shop has.
    """
    rows = Quote.objects.for_shop(shop).only(*_READ)
    named: dict[int, Quote] = {}
    if chosen.ids:
        named = {quote.pk: quote for quote in rows.filter(pk__in=chosen.ids)}
        raise_faults(
            [
                OtherShopError(f"expected the id of a quote of this shop, not {id_}", field=f"quotes/ids/{place}", value=id_)
                for place, id_ in enumerate(chosen.ids)
                if id_ not in named
            ]
        )
    if chosen.last_issued:
        issued = rows.filter(issued_at__isnull=False).exclude(state="superseded").order_by("-issued_at", "-pk")
        named |= {quote.pk: quote for quote in issued[: chosen.last_issued]}
    return sorted(named.values(), key=_age)


def _coaches_of(shop: Shop, quotes: Iterable[Quote]) -> dict[int, tuple[QuoteInputs, ...]]:
    """The inputs of every coach of the fleets that these quotes are of, in their order; one query, none where there is none."""
    ids = {quote.fleet_id for quote in quotes if quote.fleet_id is not None}
    fleets: dict[int, tuple[QuoteInputs, ...]] = {}
    if ids:
        rows = Quote.objects.for_shop(shop).filter(fleet_id__in=ids).order_by("fleet_id", "place")
        for fleet_id, inputs in rows.values_list("fleet_id", "inputs"):
            fleets[fleet_id] = (*fleets.get(fleet_id, ()), inputs_from_json(inputs))
    return fleets


def _both(sides: "Sides", quote: Quote, fleets: Mapping[int, tuple[QuoteInputs, ...]]) -> tuple[Side, Side]:
    factors = factors_from_json(quote.factors)
    if quote.fleet_id is None or quote.place is None:
        return sides.both(inputs_from_json(quote.inputs), factors)
    return sides.both_in_fleet(quote.fleet_id, fleets[quote.fleet_id], factors, place=quote.place - 1)


def _age(quote: Quote) -> tuple[bool, float, int]:
    """Newest offer first, drafts before all."""
    issued = quote.issued_at
    return issued is not None, -issued.timestamp() if issued else 0.0, -quote.pk


class Sides:
    """Both workings of quotes of one shop and day; the cost base of a plan is laid out once for each side."""

    def __init__(self, shop: Shop, day: date, overlay: Overlay) -> None:
        self._shop, self._day, self._overlay = shop, day, overlay
        self._bases: dict[tuple[str, bool], CostBase] = {}
        self._alike: dict[tuple[object, ...], bool] = {}
        self._lots: dict[tuple[int, bool], Fleet | CalculationError] = {}

    def both(self, inputs: QuoteInputs, factors: CostFactors) -> tuple[Side, Side]:
        """The quote without and with the drafts; a refusal takes the place of figures."""
        without, worked = self._side(inputs, factors, with_drafts=False)
        if worked is not None and self._reads_the_same(inputs, worked):
            return without, without
        return without, self._side(inputs, factors, with_drafts=True)[0]

    def both_in_fleet(
        self, fleet_id: int, coaches: Sequence[QuoteInputs], factors: CostFactors, *, place: int
    ) -> tuple[Side, Side]:
        """The same of one coach (`place`, from 0) of a fleet, whose lines are shares: the whole fleet is worked out, once."""
        lot = self._lot(fleet_id, coaches, factors, with_drafts=False)
        without = _of_coach(lot, place)
        if isinstance(lot, Fleet) and all(map(self._reads_the_same, coaches, lot.alone)):
            return without, without
        return without, _of_coach(self._lot(fleet_id, coaches, factors, with_drafts=True), place)

    def _lot(
        self, fleet_id: int, coaches: Sequence[QuoteInputs], factors: CostFactors, *, with_drafts: bool
    ) -> Fleet | CalculationError:
        key = (fleet_id, with_drafts)
        if key not in self._lots:
            try:
                base = self._base(coaches[0].plan, with_drafts)
                self._lots[key] = compute_fleet(coaches, base, severity_rules(base.severity), factors, points())
            except _OURS:
                raise
            except CalculationError as refusal:
                self._lots[key] = refusal
        return self._lots[key]

    def _side(self, inputs: QuoteInputs, factors: CostFactors, *, with_drafts: bool) -> tuple[Side, Worked | None]:
        try:
            base = self._base(inputs.plan, with_drafts)
            worked = compute_quote(inputs, base, severity_rules(base.severity), factors, points())
        except _OURS:
            raise
        except CalculationError as refusal:
            return Side(None, refusal), None
        return Side(figures_of(worked, inputs.days), None), worked

    def _base(self, plan: str, with_drafts: bool) -> CostBase:
        key = (plan, with_drafts)
        if key not in self._bases:
            kinds: InForce = self._overlay.with_drafts if with_drafts else self._overlay.without
            self._bases[key] = laid_out(kinds, self._shop, self._day, plan)
        return self._bases[key]

    def _reads_the_same(self, inputs: QuoteInputs, worked: Worked) -> bool:
        """Whether no draft is about anything that the quote reads, so that it need not be worked out again.

        What a quote reads follows from its plan, options and conditions. A new condition may hold on a roof although the quote
        read none like it, so conditions are compared whole.
        """
        key = (inputs.plan, inputs.options, tuple(multiplier.slug for multiplier in worked.multipliers))
        if key not in self._alike:
            self._alike[key] = self._alike_for(inputs, worked)
        return self._alike[key]

    def _alike_for(self, inputs: QuoteInputs, worked: Worked) -> bool:
        try:
            before, after = self._base(inputs.plan, False), self._base(inputs.plan, True)
        except CalculationError:
            return False
        return before.conditions == after.conditions and part_read(before, inputs, worked) == part_read(after, inputs, worked)


def _of_coach(lot: Fleet | CalculationError, place: int) -> Side:
    return Side(figures_of(lot.quotes[place], None), None) if isinstance(lot, Fleet) else Side(None, lot)


def _compared(before: Figures | None, after: Figures | None) -> Compared | None:
    return None if before is None or after is None else compare(before, after)


def differs(one: Tried) -> bool:
    """Whether the drafts change it, be it from or to a refusal."""
    if one.change is not None:
        return not one.change.nothing
    return (one.without.refusal is None) != (one.with_drafts.refusal is None)
