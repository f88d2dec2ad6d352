"""Which options does somebody tick, in a body or in a query?"""

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request

from api.rest.errors import bad_parameter
from api.rest.fields import SlugField
from api.rest.openapi import query
from api.rest.queries import known_parameters
from quotes.calc.options import MOST_OFFERED

OPTIONS = query("options", "Slugs of options that are ticked, with commas between them; none unless told.")


def options_field() -> "serializers.ListField":
    """Slugs of ticked options, as a member of a body."""
    return serializers.ListField(
        child=SlugField(),
        max_length=MOST_OFFERED,
        required=False,
        default=[],
        help_text="Slugs of the options that are ticked, out of those offered.",
    )


def ticked(request: Request) -> tuple[str, ...]:
    """The options that the query ticks.

    Raises:
        Problem: bad_parameter or unknown_parameter.
    """
    known_parameters(request, ("options",))
    text: Any = request.query_params.get("options", "")
    slugs = tuple(slug.strip() for slug in text.split(",")) if text else ()
    if len(slugs) > MOST_OFFERED or len(set(slugs)) < len(slugs) or not all(slugs):
        raise bad_parameter("options", f"Expected up to {MOST_OFFERED} different slugs with commas between them.")
    return slugs
