"""The lattice on which pieces are moved: steps that the lengths of pieces and box are whole multiples of."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.geometry.pile.through.tables import Lattice, bytes_of

_ACROSS = (13.0, 19.0)  # steps across a middling piece: fewest and most
_RISES = (1.6, 2.6)  # rises in a step: fewest and most
_FINE_RISES = (3.6, 4.4)  # the same where one lattice must do
_COARSER = 1.25  # from one try to the next, if tables would be too large
_EVEN = 16  # steps that are tried beside the shares of lengths
_BOX = 0.5  # weight of what the box loses beside what pieces lose


def lattice(
    extents: ndarray, counts: ndarray, room: tuple[float, float], gap: float, most_bytes: float, *,
    fine: bool = False,
) -> Lattice:  # fmt: skip
    """A lattice that wastes little of these pieces and this room, with tables of at most so many bytes.

    Parameters
    ----------
    extents : ndarray
        float64 (k, 3): lengths of each pose along x, y and z [mm].
    counts : ndarray
        float64 (k,): how many pieces may lie so.
    room : tuple of float
        Free length along x and y [mm].
    gap : float
        Between pieces [mm].
    fine : bool
        Whether heights are as fine as on the lattice that would follow.
    """
    size = float(np.exp(np.average(np.log(extents).mean(axis=1), weights=counts)))
    flat, upright = extents[:, :2].ravel() + gap, extents[:, 2] + gap
    twice, coarse = np.repeat(counts, 2), 1.0
    while True:
        most = coarse * size / _ACROSS[0]
        step = snug(flat, twice, (most * _ACROSS[0] / _ACROSS[1], most), np.array(room) + gap)
        fewest, highest = _FINE_RISES if fine else _RISES
        rise = snug(upright, counts, (step / highest, step / fewest), np.zeros(0))
        made = Lattice(step, rise)
        if bytes_of(extents, made, gap) <= most_bytes or coarse > 8:
            return made
        coarse *= _COARSER


def snug(lengths: ndarray, counts: ndarray, between: tuple[float, float], box: ndarray) -> float:
    """The step between two bounds that loses least of lengths (rounded up) and box lengths (rounded down)."""
    often = lengths[np.argsort(-counts, kind="stable")][:24]
    tries = [np.geomspace(*between, _EVEN)]
    for length in np.unique(np.concatenate((often, box))):
        parts = np.arange(np.ceil(length / between[1] - 1e-9), np.floor(length / between[0] + 1e-9) + 1)
        tries.append(length / parts[parts > 0])
    steps = np.sort(np.concatenate(tries))[::-1]  # of equals the widest
    lost = np.ceil(lengths / steps[:, None] - 1e-6) * steps[:, None] / lengths - 1.0
    waste = np.average(lost, axis=1, weights=counts)
    if len(box):
        waste += _BOX * (1.0 - np.floor(box / steps[:, None] + 1e-6) * steps[:, None] / box).mean(axis=1)
    return float(steps[np.argmin(np.round(waste, 9))])
