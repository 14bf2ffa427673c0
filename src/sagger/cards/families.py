"""What a powder card may leave out of its sintering, filled in by the powder's kind."""

from __future__ import annotations

import dataclasses
import tomllib
from pathlib import Path

from sagger.cards.figures import figure
from sagger.cards.place import CardSpot
from sagger.goods.figure import Figure
from sagger.goods.powder import Powder, Sintering

FILE = Path(__file__).with_name("families.toml")


def completed(powder: Powder, place: CardSpot) -> Powder:
    """The powder with the doubt of its law, its grains and how lots differ, where its card says nothing.

    An end density without u gets that of its kind: where densification stops is never known exactly.
    """
    law = powder.sintering
    if law is None:
        return powder
    table = tomllib.loads(FILE.read_text(encoding="utf-8"))[powder.kind]
    spot = place._replace(file=FILE.name, field=powder.kind)

    def usual(name: str) -> Figure:
        return figure(table[name], "pure", spot.below(name))

    filled = dataclasses.replace(
        law,
        grain_size=law.grain_size or powder.d50,
        law_green=law.law_green or law.green_density,
        law_doubt=law.law_doubt or usual("law_doubt"),
        size_exponent=law.size_exponent or usual("size_exponent"),
        lot_scatter=law.lot_scatter or usual("lot_scatter"),
        end_density=law.end_density if law.end_density.u else _doubted(law, usual("end_density_u")),
    )
    return dataclasses.replace(powder, sintering=filled)


def _doubted(law: Sintering, u: Figure) -> Figure:
    where = f"{law.end_density.where}; u {u.printed} of its kind ({u.standing})"
    return dataclasses.replace(law.end_density, u=u.value, where=where)
