"""Assemblies: templates of one piece of work, with hours and materials as formulas."""

from api.rest.edition_kinds import EditionFilters, named, of_core, one_of
from costbase.calc.contents_table import PHASES
from costbase.calc.measures import SKINS


class AssemblyFilters(EditionFilters):
    name = named()
    phase = one_of("phase", PHASES, "Phase of the work.")
    kind = one_of("kind", ("firm", "counted", "option"), "Kind of its lines.")
    level = one_of("level", ("section", "quote"), "Taken off for each roof section, or once.")
    skin = one_of("skin", SKINS, "The skin that it belongs to.")


ASSEMBLIES = of_core("assemblies", "assembly", AssemblyFilters)
