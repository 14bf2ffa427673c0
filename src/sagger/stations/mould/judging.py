"""What a foundry is told about printed sand."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy import ndarray
from scipy.special import ndtr

from sagger.goods.dose import Dose
from sagger.goods.figure import Figure, cited, weakest
from sagger.goods.finding import Against, Finding, risk
from sagger.goods.lot import Lot
from sagger.goods.mould import Contraction, Mould
from sagger.goods.order import Choices
from sagger.goods.part import Part
from sagger.goods.powder import Casting, Powder
from sagger.physics.burnout import binder_loss
from sagger.physics.powder import grains, sand
from sagger.statistics import chance

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
    ignition: mass balance of resin and acid. See `physics.powder.sand`.
    """
    sizes, finer, basis = _curve(powder, lot)
    packing = powder.packing.value
    number = sand.number_of(binder_loss.permeability(_sauter(sizes, finer), 1 - packing), AIR)
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
    grown = grains.lognormal(powder.d10.value, powder.d90.value, powder.d50.value)
    steps = np.linspace(-4, 4, 161)
    return (
        grown.median * np.exp(steps * grown.sigma),
        ndtr(steps),
        "log-normal through the card's d10 and d90",
    )


def _sauter(sizes: ndarray, finer: ndarray) -> float:
    """Sauter mean diameter of the curve's classes [m]."""
    return grains.mean_diameter(grains.class_sizes(sizes.tolist()), np.diff(finer).tolist(), 3, 2)


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
    return weakest(*figures, least="read")


def _apart(contraction: Contraction | None) -> Iterator[Finding]:
    """Two sources of contraction that disagree."""
    if contraction is None:
        return
    used, other = contraction.used, contraction.other
    low, high = sorted((used.value, other.value))
    yield risk(
        "casting contraction",
        f"{contraction.alloy} contracts by {used.printed} ({used.source}) or {other.printed} "
        f"({other.source}): {contraction.apart_mm:.2f} mm apart on the longest size.",
        Against(100 * used.value, 100 * other.value, "%", cited(used)),
        "It depends on size, shape and mould: measure castings of your own, and put what you find on "
        "your card or approve factors.",
        unless=high <= RATIO * low,
    )


def _gas(casting: Casting | None, loss: float, u: float) -> Iterator[Finding]:
    """Loss on ignition against what the metal bears."""
    if casting is None or casting.ignition_most is None:
        return
    most = casting.ignition_most
    text = f"About {loss:.2%} of the printed sand burns off (u {u:.2%})"
    yield risk(
        "loss on ignition",
        f"{text}; {most.printed} is a usual cap for {casting.alloy}.",
        Against(100 * loss, 100 * most.value, "%", cited(most)),
        "Print less resin, vent the core, and measure the loss on ignition.",
        unless=loss <= most.value,
    )


def _penetration(fineness: float, permeability: float) -> Iterator[Finding]:
    """Coarse and open sand lets metal in."""
    if fineness < COARSE and permeability > OPEN:
        text = f"Fineness {fineness:.0f} with permeability {permeability:.0f}: metal may run into it."
        against = Against(permeability, OPEN, "-", "afs, read")
        yield risk("metal penetration", text, against, "Take a finer sand or a coating.")
