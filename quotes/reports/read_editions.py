"""On which day did an issued quote last read what was in force under a slug?"""

from datetime import date

from django.db.models import Max

from costbase.calc.contents import PART_ALONE, PART_BY_SLUG
from costbase.models import Shop
from quotes.models import Quote


def last_read(shop: Shop, kind: str, slug: str, first: date, end: date) -> date | None:
    """The last such day from a first until before an end; None where no quote of these days that left draft has read it.

    Whose edition it was does not matter: it was what held in the shop on that day.
    """
    issued = Quote.objects.for_shop(shop).exclude(state="draft").filter(priced_on__gte=first, priced_on__lt=end)
    if kind in PART_BY_SLUG:
        issued = issued.filter(**{f"cost_base__contents__{PART_BY_SLUG[kind]}__has_key": slug})
    else:
        issued = issued.filter(**{f"cost_base__contents__{PART_ALONE[kind]}__edition__slug": slug})
    found: date | None = issued.aggregate(last=Max("priced_on"))["last"]
    return found
