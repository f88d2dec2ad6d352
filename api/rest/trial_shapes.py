"""What is a trial of drafts answered as? Shapes for the documentation; `trial_answers.py` makes the answers."""

from typing import Any

from rest_framework import serializers

from api.rest.runs import RunBrief


class RefShape(serializers.Serializer[Any]):
    owner = serializers.ChoiceField(choices=("shop", "network"))
    valid_from = serializers.DateField()


class TriedDraftShape(serializers.Serializer[Any]):
    kind = serializers.CharField()
    slug = serializers.CharField()
    way = serializers.ChoiceField(choices=("contents", "follow_network", "withdrawn"))
    same = serializers.BooleanField(help_text="It says what is in force already.")
    in_force = RefShape(allow_null=True, help_text="The edition that it would take the place of.")
    then = RefShape(allow_null=True, help_text="The edition that would be in force again; null for new contents, or for none.")


class DoubtShape(serializers.Serializer[Any]):
    pointer = serializers.CharField()
    detail = serializers.CharField(help_text="What may be right and deserves a look.")


class LargestShape(serializers.Serializer[Any]):
    difference = serializers.CharField()
    quote = serializers.IntegerField(allow_null=True)
    coach = serializers.IntegerField(allow_null=True, help_text="Place among the coaches of the request.")
    sample = serializers.IntegerField(allow_null=True, help_text="Place among the samples of the request.")


class SumShape(serializers.Serializer[Any]):
    without = serializers.CharField()
    difference = serializers.CharField()
    largest = LargestShape(allow_null=True)

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "with": serializers.CharField()}


class TrialSummaryShape(serializers.Serializer[Any]):
    tried = serializers.IntegerField()
    worked_out = serializers.IntegerField(help_text="On both sides; the sums are over these.")
    refused = serializers.IntegerField(help_text="That cannot be worked out with the drafts.")
    changed = serializers.IntegerField()
    base = SumShape()
    limit = SumShape()
    changed_quotes = serializers.ListField(child=serializers.IntegerField(), help_text="Ids.")
    changed_coaches = serializers.ListField(child=serializers.IntegerField(), help_text="Places in the request.")
    changed_samples = serializers.ListField(child=serializers.IntegerField(), help_text="Places in the request.")


class RefusalFaultShape(serializers.Serializer[Any]):
    pointer = serializers.CharField(required=False, help_text="Of a coach or sample: the place in the request.")
    code = serializers.CharField()
    detail = serializers.CharField()


class RefusalShape(serializers.Serializer[Any]):
    code = serializers.CharField()
    detail = serializers.CharField()
    errors = RefusalFaultShape(many=True)  # type: ignore[assignment]


class SidedRefusalShape(serializers.Serializer[Any]):
    without = RefusalShape(allow_null=True)

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "with": RefusalShape(allow_null=True)}


class TextCellsShape(serializers.Serializer[Any]):
    """A figure as it was stored (null for what is not kept), without and with the drafts, and with less without."""

    stored = serializers.CharField(allow_null=True)
    without = serializers.CharField(allow_null=True)
    difference = serializers.CharField(allow_null=True)

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "with": serializers.CharField(allow_null=True)}


class NumberCellsShape(serializers.Serializer[Any]):
    stored = serializers.FloatField(allow_null=True)
    without = serializers.FloatField(allow_null=True)
    difference = serializers.FloatField(allow_null=True)

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "with": serializers.FloatField(allow_null=True)}


class WordCellsShape(serializers.Serializer[Any]):
    stored = serializers.CharField(allow_null=True)
    without = serializers.CharField(allow_null=True)

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "with": serializers.CharField(allow_null=True)}


class LineFiguresShape(serializers.Serializer[Any]):
    quantity = serializers.CharField()
    unit = serializers.CharField()
    price = serializers.CharField()
    amount = serializers.CharField()
    cost = serializers.CharField()


class ChangedLineShape(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(choices=("labour", "material", "shop"))
    slug = serializers.CharField()
    trade = serializers.CharField()
    nth = serializers.IntegerField(help_text="Tells lines about the same thing apart.")
    name = serializers.CharField()
    phase = serializers.CharField()
    change = serializers.ChoiceField(choices=("added", "removed", "changed"))
    before = LineFiguresShape(allow_null=True)
    after = LineFiguresShape(allow_null=True)
    difference = serializers.CharField(help_text="Of the amounts.")


class HiddenFiguresShape(serializers.Serializer[Any]):
    unit = serializers.CharField()
    tier = serializers.CharField()
    exposure = serializers.CharField()
    chance = serializers.FloatField()
    share = serializers.FloatField()
    unit_price = serializers.CharField()
    set_up = serializers.CharField()
    allowance = serializers.CharField()


class ChangedHiddenShape(serializers.Serializer[Any]):
    slug = serializers.CharField()
    construction = serializers.CharField()
    name = serializers.CharField()
    change = serializers.ChoiceField(choices=("added", "removed", "changed"))
    before = HiddenFiguresShape(allow_null=True)
    after = HiddenFiguresShape(allow_null=True)
    difference = serializers.CharField(help_text="Of the allowances.")


class ChangedAmountShape(serializers.Serializer[Any]):
    before = serializers.CharField()
    after = serializers.CharField()
    difference = serializers.CharField()


class WordsShape(serializers.Serializer[Any]):
    gone = serializers.ListField(child=serializers.CharField())
    come = serializers.ListField(child=serializers.CharField())


class ComparedShape(serializers.Serializer[Any]):
    """Only what differs."""

    nothing = serializers.BooleanField(help_text="Nothing differs.")
    amounts = serializers.DictField(child=ChangedAmountShape())
    lines = ChangedLineShape(many=True)
    hidden = ChangedHiddenShape(many=True)
    warnings = WordsShape()
    exclusions = WordsShape()
    cautions = WordsShape()


class TriedShape(serializers.Serializer[Any]):
    changed = serializers.BooleanField(help_text="The drafts change it, or whether it can be worked out.")
    refusal = SidedRefusalShape()
    amounts = serializers.DictField(child=TextCellsShape())
    hours = TextCellsShape()
    days = serializers.DictField(child=NumberCellsShape())
    tier = WordCellsShape()
    change = ComparedShape(allow_null=True, help_text="From without to with the drafts; null where one is refused.")
    drift = ComparedShape(allow_null=True, help_text="From what was kept to without the drafts; null for what is not kept.")


class TriedQuoteShape(TriedShape):
    quote = serializers.IntegerField()
    number = serializers.CharField()
    revision = serializers.IntegerField()
    state = serializers.CharField()
    reference = serializers.CharField()
    coach = serializers.IntegerField()
    priced_on = serializers.DateField()
    issued_at = serializers.DateTimeField(allow_null=True)
    engine = serializers.IntegerField(help_text="Arithmetic that priced it; another one than now drifts too.")


class TriedCoachShape(TriedShape):
    place = serializers.IntegerField(help_text="Place in the request.")


class TrialShape(serializers.Serializer[Any]):
    on = serializers.DateField()
    currency = serializers.CharField()
    engine = serializers.IntegerField()
    editions = TriedDraftShape(many=True)
    doubts = DoubtShape(many=True)
    summary = TrialSummaryShape()
    quotes = TriedQuoteShape(many=True)
    coaches = TriedCoachShape(many=True)
    samples = TriedCoachShape(many=True)


class RunDraftShape(serializers.Serializer[Any]):
    kind = serializers.CharField()
    slug = serializers.CharField()
    way = serializers.ChoiceField(choices=("contents", "follow_network", "withdrawn"))


class RunLargestShape(serializers.Serializer[Any]):
    difference = serializers.CharField()
    quote = serializers.IntegerField()


class RunSumShape(serializers.Serializer[Any]):
    without = serializers.CharField()
    difference = serializers.CharField()
    largest = RunLargestShape(allow_null=True)

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "with": serializers.CharField()}


class RunSummaryShape(serializers.Serializer[Any]):
    """Of the quotes that the run has worked off so far."""

    tried = serializers.IntegerField()
    worked_out = serializers.IntegerField(help_text="On both sides; the sums are over these.")
    refused = serializers.IntegerField(help_text="That cannot be worked out with the drafts.")
    changed = serializers.IntegerField()
    base = RunSumShape()
    limit = RunSumShape()


class TrialRunShape(serializers.Serializer[Any]):
    run = RunBrief()
    on = serializers.DateField()
    currency = serializers.CharField()
    editions = RunDraftShape(many=True)
    summary = RunSummaryShape()
