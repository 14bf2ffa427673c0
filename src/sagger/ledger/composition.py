"""What each lot is made of, found by going through the movements in order: age, size curve, density, price.

Nothing of this is stored, so a corrected mass far back changes every lot that came from it.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable

import numpy as np
import sqlalchemy as sa
from numpy import ndarray

from sagger import units
from sagger.goods.figure import Figure
from sagger.goods.lot import Lot, Shelved, SizeCurve
from sagger.ledger import bodies, entries, movements, tables
from sagger.ledger.movements import MG, Movement
from sagger.ledger.store import Ledger
from sagger.physics.powder import grains, reuse

ORIGINS = {"receive": "received", "sieve": "sieved", "blend": "blended", "recover": "recovered"}
MEASURED = ("curve", "apparent_density", "tap_density", "solid_density", "green_density", "oxygen", "price")
WORKED_CURVE = "worked out"  # method of a curve that was not measured on this lot

Mixture = list[tuple[Lot, int]]  # lots and milligrams


def shelf(ledger: Ledger, connection: sa.Connection) -> dict[str, Shelved]:
    """Every lot by name, in the order in which they came to be."""
    moves = movements.in_force(connection)
    powders = movements.trace(moves).powders
    held = movements.balances(moves)
    measured = _measured(ledger, connection)
    inside: dict[tuple[str, str], Mixture] = {}  # by place and name: what stands or stood there
    shelved: dict[str, Shelved] = {}
    for move in moves:
        mixture = _mixture(inside, move)
        for box, _ in move.given("box"):
            inside.setdefault(("box", box), []).extend(mixture)
        for name, mg in move.given("lot"):
            own = measured.get(name)
            bare = Lot(name=name, powder=powders["lot", name], origin=ORIGINS[move.what])
            lot = _lot(bare, move, mixture, own)
            inside["lot", name] = [(lot, mg)]
            shelved[name] = Shelved(
                lot=lot,
                mass=held["lot", name] / MG,
                made=mg / MG,
                sources=tuple(source for _, source, _ in move.taken),
                entry=move.entry,
                measured=() if own is None else _fields(own, (*MEASURED, "exposures")),
            )
    return shelved


def _mixture(stood: dict[tuple[str, str], Mixture], move: Movement) -> Mixture:
    """Lots in what a movement takes, with their masses; a box gives of all that it was charged with."""
    mixture: Mixture = []
    for place, name, mg in move.taken:
        inside = stood[place, name]
        whole = sum(part for _, part in inside)
        mixture += [(lot, round(mg * part / whole)) for lot, part in inside]
    return mixture


def _lot(lot: Lot, move: Movement, mixture: Mixture, measured: Lot | None) -> Lot:
    """The lot with what was measured on it, and the rest worked out; powder that is received is virgin."""
    known = lot if move.what == "receive" else _worked(lot, move, mixture)
    if measured is not None:
        wanted = (*MEASURED, "exposures") if move.what == "receive" else MEASURED
        known = _over(known, measured, wanted)
    return dataclasses.replace(known, exposures=_ages(known))


def _worked(lot: Lot, move: Movement, mixture: Mixture) -> Lot:
    """What follows from the sources; a figure follows only if it is known of each of them."""
    masses = [mg for _, mg in mixture]
    ages = reuse.mixed([list(_ages(source)) for source, _ in mixture], masses)
    back = move.what == "recover"  # a build takes up oxygen, and nobody paid again for what comes back
    oxygen = None if back else _mean([source.oxygen for source, _ in mixture], masses, "%")
    return dataclasses.replace(
        lot,
        exposures=reuse.exposed(list(ages)) if back else ages,
        curve=_curve(move, mixture),
        solid_density=_mean([source.solid_density for source, _ in mixture], masses, "g/cm3", inverse=True),
        oxygen=oxygen,
        price=_mean([source.price for source, _ in mixture], masses, "cur/kg"),
    )


def _over(lot: Lot, newer: Lot, fields: Iterable[str]) -> Lot:
    """The lot with these fields of a newer one, where that has them."""
    return dataclasses.replace(lot, **{name: getattr(newer, name) for name in _fields(newer, fields)})


def _fields(lot: Lot, fields: Iterable[str]) -> tuple[str, ...]:
    return tuple(name for name in fields if getattr(lot, name) is not None)


def _ages(lot: Lot) -> ndarray:
    return np.array([1.0]) if lot.exposures is None else lot.exposures


def _curve(move: Movement, mixture: Mixture) -> SizeCurve | None:
    """Curves added by mass; sieving takes the coarse end away (a sharp cut, common practice, no source)."""
    curves = [(lot.curve.size, lot.curve.finer) for lot, _ in mixture if lot.curve is not None]
    if not curves or len(curves) < len(mixture):
        return None
    size, finer = grains.blended(curves, [mg for _, mg in mixture])
    if move.what == "sieve":
        oversize = sum(mg for place, _, mg in move.postings if place == "scrap")
        finer = np.minimum(finer / (1 - oversize / sum(mg for _, _, mg in move.taken)), 1.0)
    methods = {lot.curve.method for lot, _ in mixture if lot.curve is not None}
    same = len(mixture) == 1 and move.what == "blend"
    return SizeCurve(size=size, finer=finer, method=methods.pop() if same else WORKED_CURVE)


def _mean(
    figures: list[Figure | None], masses: list[int], unit: str, *, inverse: bool = False
) -> Figure | None:
    """Mass-weighted mean; of the inverse for a density, since volumes add."""
    known = [figure for figure in figures if figure is not None]
    if not known or len(known) < len(figures):
        return None
    shares = np.array(masses) / sum(masses)
    values = np.array([figure.value for figure in known])
    if inverse:
        value = 1 / float((shares / values).sum())
        slopes = shares * (value / values) ** 2
    else:
        value, slopes = float((shares * values).sum()), shares
    return Figure(
        value=value,
        u=float(slopes @ [figure.u for figure in known]),  # as if all came from one measurement: no smaller
        printed=f"{units.into(value, unit):.6g} {unit}",
        source="ledger",
        where="mean by mass of what the lot was made from",
        standing="worked",
    )


def _measured(ledger: Ledger, connection: sa.Connection) -> dict[str, Lot]:
    """By lot, what was measured on it; a later measurement of the same thing stands."""
    query = (
        sa.select(tables.lot.c.name, tables.body.c.json)
        .join(tables.body, tables.body.c.digest == tables.lot.c.body)
        .where(tables.lot.c.entry.not_in(entries.superseded()))
        .order_by(tables.lot.c.id)
    )
    measured: dict[str, Lot] = {}
    for name, text in connection.execute(query):
        lot = bodies.rich(ledger, json.loads(text))
        measured[name] = _over(measured.get(name, lot), lot, (*MEASURED, "exposures"))
    return measured
