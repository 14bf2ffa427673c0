"""How the pieces stand on trays, and how many furnace runs that takes."""

from __future__ import annotations

import math

import numpy as np
from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.load import Load, TrayFit


def grid(tray: tuple[float, float], edge: float, piece: tuple[float, float], gap: float) -> tuple[int, int]:
    """Pieces along x and y of a rectangular grid on a tray; the better of both quarter turns.

    Parameters
    ----------
    tray, piece : tuple of 2 float
        Sizes, all in one unit.
    edge, gap : float
        Left free along the rim, and between pieces.

    Source
    ------
    Counting: n pieces and n - 1 gaps must fit between the rims.
    """
    room = [side - 2 * edge + gap for side in tray]

    def count(w: float, d: float) -> tuple[int, int]:
        return max(math.floor(room[0] / (w + gap) + 1e-9), 0), max(math.floor(room[1] / (d + gap) + 1e-9), 0)

    return max(count(*piece), count(*piece[::-1]), key=math.prod)


def load(greens: tuple[Green, ...], furnace: Furnace, ratio: ndarray) -> tuple[Load, tuple[Finding, ...]]:
    """Trays and runs for all pieces, one part to a tray, one tray to a shelf; and what does not fit.

    Pieces stand as in their first orientation, at green size plus the way they retract.
    """
    stands = [_stand(part, green, furnace, ratio) for part, green in enumerate(greens)]
    fits = tuple(fit for fit, _ in stands)
    trays, shelves = sum(fit.trays for fit in fits), round(furnace.shelves.value)
    runs = math.ceil(trays / shelves)
    fill = trays / (runs * shelves) if runs else 0.0
    found = Load(fits=fits, trays=trays, trays_per_run=shelves, runs=runs, fill=fill)
    return found, tuple(finding for _, findings in stands for finding in findings)


def _stand(part: int, green: Green, furnace: Furnace, ratio: ndarray) -> tuple[TrayFit, tuple[Finding, ...]]:
    size = np.ptp(green.shape.vertices @ green.maps[0].T, axis=0) * 1e-3
    x, y = (float(value) for value in (size * (2 - ratio))[:2])  # half of L (1 - r) at each end
    tray = furnace.tray_x.value, furnace.tray_y.value
    per_tray = math.prod(grid(tray, furnace.tray_edge.value, (x, y), furnace.part_gap.value))
    quantity = green.part.request.quantity
    fit = TrayFit(
        part=part,
        quantity=quantity,
        footprint=(x, y),
        height=float(size[2]),
        per_tray=per_tray,
        trays=math.ceil(quantity / per_tray) if per_tray else quantity,
    )
    return fit, _too_large(fit, green, furnace)


def _too_large(fit: TrayFit, green: Green, furnace: Furnace) -> tuple[Finding, ...]:
    found = []
    name, height, shelf = green.part.request.name, fit.height * 1e3, furnace.shelf_height.value * 1e3
    if height > shelf:
        found.append(
            Finding(
                level="stop",
                what="furnace height",
                text=f"{name} stands {height:.1f} mm high when green, {height - shelf:.1f} mm more than "
                f"a shelf of {furnace.title} leaves free.",
                value=height,
                limit=shelf,
                unit="mm",
                source=furnace.shelf_height.source,
                remedy="Take shelves out, lay the part down, or choose a taller furnace.",
            )
        )
    if not fit.per_tray:
        found.append(_too_wide(fit, name, furnace))
    return tuple(found)


def _too_wide(fit: TrayFit, name: str, furnace: Furnace) -> Finding:
    free = sorted(side.value - 2 * furnace.tray_edge.value for side in (furnace.tray_x, furnace.tray_y))
    over = max(have - want for have, want in zip(sorted(fit.footprint), free, strict=True)) * 1e3
    sides = " x ".join(f"{side * 1e3:.1f}" for side in fit.footprint)
    return Finding(
        level="stop",
        what="furnace tray",
        text=f"{name} needs {sides} mm on a tray (green, with room to retract), {over:.1f} mm more than "
        f"{furnace.title} has.",
        value=max(fit.footprint) * 1e3,
        limit=free[-1] * 1e3,
        unit="mm",
        source=furnace.tray_x.source,
        remedy="Stand the part up (its first orientation), or choose a furnace with larger trays.",
    )
