"""What a foundry is told about printed sand."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy import ndarray
from scipy.special import ndtr

from sagger.goods.dose import Dose
from sagger.goods.figure import STANDINGS, Figure
from sagger.goods.finding import Finding
from sagger.goods.lot import Lot
from sagger.goods.mould import Contraction, Mould
from sagger.goods.order import Choices
from sagger.goods.part import Part
from sagger.goods.powder import Casting, Powder
from sagger.physics import burnout, chance, grains, sand

AIR = 1.82e-5  # viscosity at room temperature [Pa s]; handbooks
KNOWN_WITHIN = 2.0  # factor to which a bed's permeability is known from its grain; common practice, no source
RATIO = 1.3  # of two sources' contractions, above which their difference is worth a look
COARSE, OPEN = 50.0, 180.0  # fineness below and permeability above which metal penetrates (afs)


def judge(
    parts: tuple[Part, ...], doses: tuple[Dose, ...], powder: Powder, lot: Lot | None, choices: Choices
) -> Mould:
    """What a foundry is told about printed sand.

    Parameters
    ----------
    parts : tuple of Part
        Their longest size shows what two sources of contraction are apart.
    doses : tuple of Dose
        Of all boxes: resin and sand of the pieces.
    powder : Powder
        The sand; its castings give contraction and the loss on ignition that a metal bears.
    lot : Lot, optional
        Its size curve stands in place of the card's d10 and d90.
    choices : Choices
        `alloy`: the metal to be cast, or "".

    Source
    ------
    Fineness: AFS. Permeability: Kozeny and Carman on the Sauter mean, known within a factor of two. Loss on
    ignition: mass balance of resin and acid. See `physics.sand`.
    """
    sizes, finer, basis = _curve(powder, lot)
    packing = powder.packing.value
    number = sand.number_of(burnout.permeability(_sauter(sizes, finer), 1 - packing), AIR)
    pieces = sum(dose.powder_in_pieces for dose in doses)
    resin = sum(dose.solids_mass for dose in doses) / pieces if pieces else 0.0
    acid, acid_u = (powder.premixed.value, powder.premixed.u) if powder.premixed else (0.0, 0.0)
    loss = sand.ignition(resin + acid)
    casting = next((each for each in powder.castings if each.alloy == choices.alloy), None)
    fineness = sand.fineness(sizes.tolist(), finer.tolist())
    contraction = _contraction(casting, parts) if casting else None
    return Mould(
        contraction=contraction,
        fineness=fineness,
        basis=basis,
        permeability=number,
        permeability_u=number * chance.rectangular(math.log(KNOWN_WITHIN)),
        saturation=max((dose.saturation for dose in doses), default=0.0),
        resin=resin,
        ignition=loss,
        ignition_u=acid_u,
        standing=_weakest(powder, lot),
        findings=(
            *_apart(contraction),
            *_gas(casting, loss, acid_u),
            *_penetration(fineness, number),
        ),
    )


def _curve(powder: Powder, lot: Lot | None) -> tuple[ndarray, ndarray, str]:
    """Cumulative size curve and what it rests on: the lot's own, or log-normal through d10 and d90."""
    if lot is not None and lot.curve is not None:
        return lot.curve.size, lot.curve.finer, f"{lot.curve.method} curve of lot {lot.name}"
    found = grains.lognormal(powder.d10.value, powder.d90.value, powder.d50.value)
    steps = np.linspace(-4, 4, 161)
    return (
        found.median * np.exp(steps * found.sigma),
        ndtr(steps),
        "log-normal through the card's d10 and d90",
    )


def _sauter(sizes: ndarray, finer: ndarray) -> float:
    """Sauter mean diameter of the curve's classes [m]."""
    shares, middle = np.diff(finer), np.sqrt(sizes[:-1] * sizes[1:])
    return grains.mean_diameter(middle.tolist(), shares.tolist(), 3, 2)


def _contraction(casting: Casting, parts: tuple[Part, ...]) -> Contraction:
    longest = max((max(part.extent_mm) for part in parts), default=0.0)
    apart = abs(casting.contraction.value - casting.other.value) * longest
    return Contraction(alloy=casting.alloy, used=casting.contraction, other=casting.other, apart_mm=apart)


def _weakest(powder: Powder, lot: Lot | None) -> str:
    """Standing of the weakest figure that fineness, permeability and loss rest on."""
    figures: list[Figure] = [powder.packing]
    if lot is None or lot.curve is None:
        figures += [powder.d10, powder.d90]
    if powder.premixed is not None:
        figures.append(powder.premixed)
    return max((figure.standing for figure in figures), key=STANDINGS.index)


def _apart(found: Contraction | None) -> Iterator[Finding]:
    """Two sources of contraction that disagree."""
    if found is None:
        return
    low, high = sorted((found.used.value, found.other.value))
    wide = high > RATIO * low
    yield Finding(
        level="look" if wide else "ok",
        what="casting contraction",
        text=f"{found.alloy} contracts by {found.used.printed} ({found.used.source}) or "
        f"{found.other.printed} ({found.other.source}): {found.apart_mm:.2f} mm apart on the longest size.",
        value=100 * found.used.value,
        limit=100 * found.other.value,
        unit="%",
        source=f"{found.used.source}, {found.used.standing}",
        remedy="It depends on size, shape and mould: measure castings of your own, and put what you find on "
        "your card or approve factors."
        if wide
        else "",
    )


def _gas(casting: Casting | None, loss: float, u: float) -> Iterator[Finding]:
    """Loss on ignition against what the metal bears."""
    if casting is None or casting.ignition_most is None:
        return
    most = casting.ignition_most
    held = loss <= most.value
    yield Finding(
        level="ok" if held else "look",
        what="loss on ignition",
        text=f"About {loss:.2%} of the printed sand burns off (u {u:.2%}); {most.printed} is a usual cap for "
        f"{casting.alloy}.",
        value=100 * loss,
        limit=100 * most.value,
        unit="%",
        source=f"{most.source}, {most.standing}",
        remedy="" if held else "Print less resin, vent the core, and measure the loss on ignition.",
    )


def _penetration(fineness: float, permeability: float) -> Iterator[Finding]:
    """Coarse and open sand lets metal in."""
    if fineness < COARSE and permeability > OPEN:
        yield Finding(
            level="look",
            what="metal penetration",
            text=f"Fineness {fineness:.0f} with permeability {permeability:.0f}: metal may run into it.",
            value=permeability,
            limit=OPEN,
            unit="-",
            source="afs, read",
            remedy="Take a finer sand or a coating.",
        )
