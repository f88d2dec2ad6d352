"""Materials: what is bought, in which packs, and how it is billed."""

import django_filters

from api.rest.edition_kinds import EditionFilters, named, of_core, one_of


class MaterialFilters(EditionFilters):
    name = named()
    supply = one_of("supply", ("job", "stock"), "Bought for the job, or kept in stock.")
    markup_class = django_filters.CharFilter(field_name="contents__markup_class", max_length=60, label="Class of markup.")
    in_place_of = django_filters.CharFilter(
        field_name="contents__in_place_of", max_length=60, label="Other sizes of this material."
    )


MATERIALS = of_core("materials", "material", MaterialFilters)
