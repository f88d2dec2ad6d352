"""What do the rows of reports look like in the documentation?"""

from typing import Any

from rest_framework import serializers


class _ClosedShape(serializers.Serializer[Any]):
    job = serializers.IntegerField(help_text="Id of the job.")
    number = serializers.CharField()
    closed_on = serializers.DateField()
    estimator = serializers.IntegerField(allow_null=True, help_text="Id of the person who made the quote.")
    tier = serializers.CharField()
    plan = serializers.CharField()
    construction = serializers.CharField()
    currency = serializers.CharField()


class OverBudgetShape(_ClosedShape):
    """A job that cost more than planned; amounts before tax."""

    planned_cost = serializers.CharField()
    actual_cost = serializers.CharField()
    over = serializers.CharField(help_text="Actual cost less planned cost.")
    billed = serializers.CharField()
    planned_margin = serializers.CharField()
    margin = serializers.CharField()
    main_cause = serializers.CharField(help_text="The cause that cost most; empty where none did.")
    main_cause_amount = serializers.CharField()
    review = serializers.CharField(help_text="open, signed_off, or empty where nobody began one.")


class OverLimitShape(_ClosedShape):
    """A job that was billed more than was authorised; there must be none."""

    authorised_with_tax = serializers.CharField()
    overrun_with_tax = serializers.CharField(help_text="What an adopted policy allowed beyond it.")
    billed_with_tax = serializers.CharField()


class QuotedFinalShape(_ClosedShape):
    """What was quoted and what it came to. Costs and margins are for managers and analysts."""

    price_basis = serializers.CharField()
    base = serializers.CharField()
    allowance = serializers.CharField()
    contingency = serializers.CharField()
    limit = serializers.CharField()
    limit_with_tax = serializers.CharField()
    billed = serializers.CharField()
    billed_with_tax = serializers.CharField()
    authorised_with_tax = serializers.CharField()
    planned_hours = serializers.CharField()
    actual_hours = serializers.CharField()
    standard = serializers.CharField(help_text="Actual hours and goods at the quote's rates, the owner's wishes apart.")
    hidden_measured = serializers.CharField()
    hidden_done = serializers.CharField()
    planned_cost = serializers.CharField(required=False)
    actual_cost = serializers.CharField(required=False)
    planned_margin = serializers.CharField(required=False)
    margin = serializers.CharField(required=False)


class CauseShape(serializers.Serializer[Any]):
    """One cause over all jobs: what it cost, and what it brought back elsewhere."""

    cause = serializers.CharField()
    words = serializers.CharField()
    amount = serializers.CharField()
    saved = serializers.CharField()
    jobs = serializers.IntegerField(help_text="Jobs in which it cost anything.")
    share = serializers.CharField(allow_null=True, help_text="Of what all causes cost.")
    cumulative_share = serializers.CharField(allow_null=True)


class CoverageShape(serializers.Serializer[Any]):
    """How often the bill stayed inside the agreed limit and the cost inside the forecast's P80, with a 95 % interval."""

    by = serializers.ChoiceField(choices=["all", "tier", "estimator"])
    of = serializers.CharField()
    jobs = serializers.IntegerField()
    inside_limit = serializers.IntegerField()
    limit_share = serializers.CharField()
    limit_low = serializers.CharField()
    limit_high = serializers.CharField()
    inside_p80 = serializers.IntegerField()
    p80_share = serializers.CharField()
    p80_low = serializers.CharField()
    p80_high = serializers.CharField()


class WinRateShape(serializers.Serializer[Any]):
    """Offers of one month, tier and estimator, and the margin at which they were quoted."""

    month = serializers.CharField(help_text="Such as 2026-03, in the shop's zone.")
    tier = serializers.CharField()
    estimator = serializers.IntegerField(allow_null=True)
    issued = serializers.IntegerField()
    accepted = serializers.IntegerField()
    declined = serializers.IntegerField()
    win_rate = serializers.CharField(allow_null=True)
    margin_share = serializers.CharField(allow_null=True)
    margin_share_accepted = serializers.CharField(allow_null=True)


class UnbilledShape(serializers.Serializer[Any]):
    """Rot that was measured and neither drawn, nor in an accepted order, nor declined."""

    job = serializers.IntegerField()
    number = serializers.CharField()
    state = serializers.CharField()
    component = serializers.CharField()
    construction = serializers.CharField()
    name = serializers.CharField()
    unit = serializers.CharField()
    found = serializers.CharField()
    drawn = serializers.CharField()
    left = serializers.CharField()
    unit_price = serializers.CharField()
    amount = serializers.CharField(help_text="What is left at the agreed unit price, before tax.")
    waiting = serializers.BooleanField(help_text="A change order for it is drafted or waits.")


class WaitingOrderShape(serializers.Serializer[Any]):
    """A change order without an answer, the oldest first."""

    order = serializers.IntegerField(help_text="Id of the change order.")
    job = serializers.IntegerField()
    job_number = serializers.CharField()
    number = serializers.IntegerField(help_text="Its number in the job.")
    title = serializers.CharField()
    cause = serializers.CharField()
    payer = serializers.CharField()
    sent_at = serializers.DateTimeField()
    days_waiting = serializers.IntegerField()
    least = serializers.CharField(help_text="Of its ways, before tax.")
    most = serializers.CharField()


class OpenJobShape(serializers.Serializer[Any]):
    """A job that is booked and not closed, as it stands now."""

    job = serializers.IntegerField()
    number = serializers.CharField()
    state = serializers.CharField()
    promised_on = serializers.DateField(allow_null=True)
    authorised = serializers.CharField()
    authorised_with_tax = serializers.CharField()
    earned = serializers.CharField(help_text="Hours and goods so far at quote prices, at most what is authorised.")
    billed_with_tax = serializers.CharField()
    paid = serializers.CharField()
    planned_cost = serializers.CharField(help_text="Of the agreed visible work.")
    cost_to_date = serializers.CharField()
    forecast_p50 = serializers.CharField(help_text="Of the latest forecast, the quote's own until the roof was opened.")
    forecast_p80 = serializers.CharField()
    margin_at_risk = serializers.CharField(help_text="By how much the P80 passes what is authorised.")
    days_waiting = serializers.IntegerField(help_text="Since the oldest change order without an answer was sent.")
