"""Cards: what powders, binders, machines and shops are, as figures with unit, source and standing."""

from sagger.cards.cautions import cautions
from sagger.cards.cell import DEFAULTS, Weak, cell, fitting, sources, weak
from sagger.cards.changed import changed
from sagger.cards.figures import figures
from sagger.cards.read import KINDS, load, names
from sagger.cards.standards import (
    afs,
    iso286,
    iso2768,
    iso2768_angles,
    iso2768_edges,
    iso2768_form,
    sieves,
)

__all__ = [
    "DEFAULTS",
    "KINDS",
    "Weak",
    "afs",
    "cautions",
    "cell",
    "changed",
    "figures",
    "fitting",
    "iso286",
    "iso2768",
    "iso2768_angles",
    "iso2768_edges",
    "iso2768_form",
    "load",
    "names",
    "sieves",
    "sources",
    "weak",
]
