"""Hidden components: what nobody sees before the roof is open, how likely it is rotten, and what puts it right."""

from api.rest.edition_kinds import EditionFilters, named, of_core, one_of
from costbase.calc.contents_table import SCALED_BY


class ComponentFilters(EditionFilters):
    name = named()
    scaled_by = one_of("scaled_by", SCALED_BY, "The marks of a survey that scale its exposure.")


COMPONENTS = of_core("components", "component", ComponentFilters)
