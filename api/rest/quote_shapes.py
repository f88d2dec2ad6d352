"""What is a quote answered as? Shapes for the documentation; `quote_answers.py` makes the answers.

Amounts, prices and quantities are texts, so that nobody reads them as binary fractions.
"""

from typing import Any

from rest_framework import serializers


class FiredShape(serializers.Serializer[Any]):
    tier = serializers.CharField()
    reason = serializers.CharField()
    components = serializers.ListField(child=serializers.CharField(), help_text="Empty: the whole roof.")


class TierShape(serializers.Serializer[Any]):
    tier = serializers.CharField()
    tier_by_rules = serializers.CharField()
    override_reason = serializers.CharField(help_text="Empty where the rules are followed.")
    fired = FiredShape(many=True)


class ActionShape(serializers.Serializer[Any]):
    text = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]


class CheckedShape(serializers.Serializer[Any]):
    checked_share = serializers.FloatField()
    weighted_share = serializers.FloatField()
    wet_share = serializers.FloatField()
    actions = ActionShape(many=True)


class TaxShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    rate = serializers.CharField()
    base = serializers.CharField()
    amount = serializers.CharField()


class TaxesShape(serializers.Serializer[Any]):
    base = TaxShape(many=True)
    limit = TaxShape(many=True)


class AmountsShape(serializers.Serializer[Any]):
    base = serializers.CharField(help_text="Visible work: the sum of the rounded lines.")
    record = serializers.CharField(help_text="This shop's record on such work; 0 in a firm quote.")
    allowance = serializers.CharField(help_text="Expected hidden work.")
    reserve = serializers.CharField()
    contingency = serializers.CharField(help_text="Set aside for hidden work, billed only if found: allowance + reserve.")
    limit = serializers.CharField(help_text="The most that is paid without a new consent, before tax.")
    base_with_tax = serializers.CharField()
    limit_with_tax = serializers.CharField(help_text="What the owner signs.")
    labour = serializers.CharField()
    materials = serializers.CharField()
    base_tax = serializers.CharField()
    base_rounding = serializers.CharField()
    limit_tax = serializers.CharField()
    limit_rounding = serializers.CharField()
    deposit = serializers.CharField()
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")
    margin = serializers.CharField(required=False, help_text="For managers and analysts.")


class HoursShape(serializers.Serializer[Any]):
    total = serializers.CharField()
    by_phase = serializers.DictField(child=serializers.CharField())
    by_trade = serializers.DictField(child=serializers.CharField())


class ByKindShape(serializers.Serializer[Any]):
    """The visible work by kind; the three add up to it."""

    firm = serializers.CharField(help_text="A price; freight and the shop's lines too.")
    counted = serializers.CharField(help_text="Settled by what is found when the roof is open.")
    option = serializers.CharField(help_text="Options that are sold.")


class CountedWorkShape(serializers.Serializer[Any]):
    """One counted assembly: the sums of its lines, which say each at what it is settled."""

    assembly = serializers.CharField()
    name = serializers.CharField()
    quantity = serializers.CharField()
    unit = serializers.CharField()
    unit_price = serializers.CharField()
    set_up = serializers.CharField()
    amount = serializers.CharField()


class ForecastShape(serializers.Serializer[Any]):
    """The shop's forecast of the final cost; never the owner's limit."""

    p50 = serializers.CharField()
    p80 = serializers.CharField()
    p90 = serializers.CharField()
    chance_nothing_found = serializers.FloatField()
    base_expected = serializers.CharField()
    coverage_share = serializers.FloatField(help_text="How often the limit holds, by this model.")


class TickedLineShape(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(choices=("labour", "material", "shop"))
    slug = serializers.CharField()
    trade = serializers.CharField()
    name = serializers.CharField()
    unit = serializers.CharField()
    quantity = serializers.CharField(help_text="How much more of it; packs that options share are in what each needs alone.")
    amount = serializers.CharField()
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")


class FromToShape(serializers.Serializer[Any]):
    low = serializers.FloatField()
    high = serializers.FloatField()


class TickedShape(serializers.Serializer[Any]):
    """What ticking changes: every amount is that of the quote with it less that without."""

    options = serializers.ListField(child=serializers.CharField(), help_text="Slugs of the assemblies that are ticked.")
    name = serializers.CharField()
    base = serializers.CharField(help_text="Visible work: the sum of the changed lines.")
    record = serializers.CharField()
    contingency = serializers.CharField()
    limit = serializers.CharField()
    base_tax = serializers.CharField()
    base_rounding = serializers.CharField()
    base_with_tax = serializers.CharField()
    limit_tax = serializers.CharField()
    limit_rounding = serializers.CharField()
    limit_with_tax = serializers.CharField(help_text="What it adds to what the owner signs.")
    deposit = serializers.CharField()
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")
    days = FromToShape()
    lines = TickedLineShape(many=True)
    cautions = serializers.ListField(child=serializers.CharField())
    warnings = serializers.ListField(child=serializers.CharField())


class OfferedShape(serializers.Serializer[Any]):
    options = TickedShape(many=True, help_text="Each by itself, in the order offered.")
    together = TickedShape(
        allow_null=True, help_text="All of them; not the sum of each where they share packs, a cap or a minimum. Null: none."
    )


class TaskShape(serializers.Serializer[Any]):
    """A task of the schedule; days from the morning on which the coach comes in, 1.0 being the evening of the first day."""

    task = serializers.CharField(help_text="The assembly, and :refit behind it where it comes back on.")
    assembly = serializers.CharField()
    name = serializers.CharField()
    phase = serializers.CharField()
    start = serializers.FloatField()
    end = serializers.FloatField()
    ready = serializers.FloatField(help_text="When what waits for it may begin: cured, dried, skinned over.")
    waits_for = serializers.ListField(child=serializers.CharField(), help_text="Tasks of this schedule.")
    lead = serializers.IntegerField(help_text="Lead days of what is ordered for it.")


class DaysShape(serializers.Serializer[Any]):
    low = serializers.FloatField(help_text="In the shop without hidden work, if the goods are there.")
    high = serializers.FloatField(help_text="The same with the hidden work that the contingency pays for.")
    working = serializers.FloatField(help_text="Days of the crew.")
    waiting = serializers.FloatField(help_text="Days on which the crew waits: working + waiting is the worked low.")
    drying = serializers.FloatField(help_text="Days of drying, whether or not other work goes on beside it.")
    cures = serializers.IntegerField(help_text="Cures over night, whether or not other work goes on beside them.")
    sealant = serializers.IntegerField(help_text="1 where sealant has to be kept dry.")
    hidden = serializers.FloatField(help_text="Days of the crew on hidden work that the contingency pays for.")
    lead = serializers.IntegerField(help_text="Longest lead time of what is ordered.")
    lead_material = serializers.CharField()
    goods_after = serializers.FloatField(help_text="Days after the order on which the coach can come in and wait for no goods.")
    at_once = serializers.FloatField(help_text="Days in the shop if the coach comes in on the day of the order.")
    schedule = TaskShape(many=True, help_text="Without hidden work, in the order of the work.")
    reason = serializers.CharField(help_text="Why the estimator promises another range; empty where it is worked out.")


class SpanShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    start = serializers.CharField()
    end = serializers.CharField()


class ConditionShape(serializers.Serializer[Any]):
    condition = serializers.CharField()
    factor = serializers.CharField()
    reason = serializers.CharField()


class SectionShareShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    share = serializers.CharField(help_text="Of the assembly's quantity, 0 to 1.")


class CountedPriceShape(serializers.Serializer[Any]):
    """At what a line of counted work is settled: quantity x unit price + set-up is what is quoted."""

    quantity = serializers.CharField(help_text="What was quoted, in the unit.")
    unit = serializers.CharField()
    unit_price = serializers.CharField(help_text="Billed less for each that is not found; six decimals.")
    set_up = serializers.CharField(help_text="Stays, however little is found.")


class PartShape(serializers.Serializer[Any]):
    assembly = serializers.CharField()
    net = serializers.CharField()
    sections = SectionShareShape(many=True, required=False, help_text="Empty for work of the whole quote.")
    kind = serializers.CharField(required=False, help_text="Of the assembly: firm, counted or option.")
    amount = serializers.CharField(required=False, help_text="Its share of the line; the shares add up to it.")
    counted = CountedPriceShape(required=False, help_text="Counted work only.")


class OfLotShape(serializers.Serializer[Any]):
    """What a line of a coach in a fleet is a share of."""

    lot_quantity = serializers.CharField()
    lot_amount = serializers.CharField()
    alone = serializers.CharField(required=False, help_text="The quantity if the coach came alone.")
    unit_number = serializers.IntegerField(required=False, help_text="Labour: which coach with this work it is, from 1.")
    learning = serializers.CharField(required=False, help_text="Labour: of its hours beyond set-up, as a share.")
    worked = serializers.CharField(required=False, help_text="Labour: hours that it takes in its turn.")
    net = serializers.CharField(required=False, help_text="Materials: net need, by which the line is shared.")
    direct = serializers.CharField(required=False, help_text="The shop's lines: direct amounts, by which they are shared.")


class LineDetailsShape(serializers.Serializer[Any]):
    """What only one kind of line has."""

    driver = serializers.CharField(required=False, help_text="Labour: the quantity of the assembly with its unit.")
    sections = SectionShareShape(many=True, required=False, help_text="Labour: empty for work of the whole quote.")
    template_hours = serializers.CharField(required=False, help_text="Labour: hours before multipliers.")
    factor = serializers.CharField(required=False, help_text="Labour: the multipliers together.")
    multipliers = ConditionShape(many=True, required=False)
    counted = CountedPriceShape(required=False, help_text="Labour of counted work: at what it is settled.")
    unit = serializers.CharField(required=False, help_text="Material: unit of use.")
    net = serializers.CharField(required=False, help_text="Material: need in units of use.")
    with_waste = serializers.CharField(required=False)
    waste_share = serializers.CharField(required=False)
    pack = serializers.CharField(required=False, help_text="Material: what one pack is called.")
    pack_size = serializers.CharField(required=False, help_text="Material: units of use in a pack.")
    packs = serializers.CharField(required=False, help_text="Material: what is bought.")
    pack_price = serializers.CharField(required=False, help_text="Material, for managers and analysts: purchase price.")
    markup = serializers.CharField(required=False, help_text="Material, for managers and analysts: on cost, as a share.")
    freight_of = serializers.CharField(required=False, help_text="Freight: the material that is brought.")
    freight = serializers.CharField(required=False, help_text="Freight, for managers and analysts: before markup.")
    supply = serializers.ChoiceField(choices=("job", "stock"), required=False)
    lead_days = serializers.IntegerField(required=False)
    parts = PartShape(many=True, required=False, help_text="Material: what each assembly needs of it.")
    worked_on = serializers.CharField(required=False, help_text="The shop's lines: the amount that it is worked on.")
    share = serializers.CharField(required=False, help_text="The shop's lines: of that amount.")
    tax_class = serializers.CharField(required=False)
    lot = OfLotShape(required=False, help_text="Of a coach in a fleet.")


class LineShape(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=("labour", "material", "shop"))
    slug = serializers.CharField()
    trade = serializers.CharField()
    name = serializers.CharField()
    phase = serializers.CharField()
    price_kind = serializers.CharField(help_text="firm, counted or option; mixed where several kinds share a material.")
    quantity = serializers.CharField()
    unit = serializers.CharField()
    price = serializers.CharField()
    amount = serializers.CharField()
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")
    details = LineDetailsShape()


class ExposedShape(serializers.Serializer[Any]):
    section = serializers.CharField()
    whole = serializers.FloatField(help_text="What the scope opens, in the component's unit.")
    left_by_survey = serializers.FloatField(help_text="Share of it that the marks leave open.")
    exposure = serializers.FloatField()


class HiddenDetailsShape(serializers.Serializer[Any]):
    no_exposure = serializers.BooleanField(help_text="Nothing of it is opened: the unit price is that of one unit.")
    assemblies = serializers.ListField(child=serializers.CharField(), help_text="What puts it right.")
    can_close_up = serializers.BooleanField(help_text="Whether the roof may be closed over it when its repair is declined.")
    sections = ExposedShape(many=True)


class HiddenShape(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    slug = serializers.CharField()
    construction = serializers.CharField()
    name = serializers.CharField()
    owner_words = serializers.CharField()
    unit = serializers.CharField()
    tier = serializers.CharField()
    exposure = serializers.CharField()
    chance = serializers.FloatField()
    share = serializers.FloatField()
    unit_price = serializers.CharField()
    set_up = serializers.CharField()
    labour_part = serializers.CharField()
    material_part = serializers.CharField()
    allowance = serializers.CharField()
    details = HiddenDetailsShape()


class AlternativeShape(serializers.Serializer[Any]):
    """What is offered beside this quote, under the same number and revision."""

    id = serializers.IntegerField()
    alternative = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]
    state = serializers.CharField()
    base_with_tax = serializers.CharField()
    limit_with_tax = serializers.CharField()
    days = FromToShape()


class BriefShape(serializers.Serializer[Any]):
    id = serializers.IntegerField(allow_null=True, help_text="null for a trial, which is not kept.")
    number = serializers.CharField()
    revision = serializers.IntegerField()
    alternative = serializers.IntegerField(help_text="1 to 3: its place among those that are offered together.")
    label = serializers.CharField(  # type: ignore[assignment]
        help_text="What this alternative is called."
    )
    state = serializers.CharField()
    reference = serializers.CharField()
    plan = serializers.CharField()
    price_basis = serializers.CharField()
    currency = serializers.CharField()
    provisional = serializers.BooleanField(help_text="Told or photographed only: cannot be accepted for work.")
    engine = serializers.IntegerField()
    version = serializers.IntegerField()
    customer = serializers.IntegerField(allow_null=True)
    fleet = serializers.IntegerField(allow_null=True, help_text="Id of its fleet; its lines are shares of the lot's then.")
    place = serializers.IntegerField(allow_null=True, help_text="Which coach of the fleet, from 1.")
    coach = serializers.IntegerField()
    survey = serializers.IntegerField()
    priced_on = serializers.DateField()
    valid_until = serializers.DateField()
    confidence_level = serializers.FloatField()
    roof_tier = serializers.CharField()
    base_with_tax = serializers.CharField()
    limit_with_tax = serializers.CharField()
    created = serializers.DateTimeField(allow_null=True)
    issued_at = serializers.DateTimeField(allow_null=True)


class QuoteShape(BriefShape):
    tier = TierShape()
    checked = CheckedShape()
    amounts = AmountsShape()
    taxes = TaxesShape()
    hours = HoursShape()
    amounts_by_phase = serializers.DictField(child=serializers.CharField())
    amounts_by_kind = ByKindShape(allow_null=True, help_text="Null: a quote from before lines were told apart by kind.")
    counted = CountedWorkShape(many=True)
    forecast = ForecastShape()
    offered = OfferedShape()
    days = DaysShape()
    scope = SpanShape(many=True)
    conditions = ConditionShape(many=True)
    warnings = serializers.ListField(child=serializers.CharField())
    exclusions = serializers.ListField(child=serializers.CharField())
    cautions = serializers.ListField(child=serializers.CharField())
    lines = LineShape(many=True)
    hidden = HiddenShape(many=True)
    alternatives = AlternativeShape(many=True)
    request = serializers.DictField()
