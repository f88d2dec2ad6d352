"""What did drafts of editions do to a quote that a run tried them on?"""

from django.db import models

from costbase.models import ShopOwned
from quotes.models.quote import Quote, amount_or_none_field


class TriedQuote(ShopOwned):
    """One quote of a trial that went on in the background, kept until its run is forgotten.

    Amounts are None where the quote could not be worked out on that side. `answer` is all that the trial says about it, as
    JSON. The run is a number and no key: it belongs to the service's own tables, which forget it first.
    """

    run_id = models.BigIntegerField()
    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+")
    position = models.PositiveIntegerField()  # 1 for the offer that was issued last
    changed = models.BooleanField()
    refused = models.BooleanField()
    base_without = amount_or_none_field()
    base_with = amount_or_none_field()
    limit_without = amount_or_none_field()
    limit_with = amount_or_none_field()
    answer = models.JSONField()
    created = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shop", "run_id", "position"], name="tried_quote_position"),
        ]
        indexes = [models.Index(fields=["shop", "created"], name="tried_quote_by_age")]
