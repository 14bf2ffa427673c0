"""Foundry figures of a sand mould. All SI."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sagger.physics.powder import grains

GRAM_FORCE_PER_CM2 = 98.0665  # [Pa]
PERMEABILITY_UNIT = 1e-6 * 1e-2 / (GRAM_FORCE_PER_CM2 * 1e-4 * 60)  # of the AFS number [m2/(Pa s)]

# Sieves of the grain fineness number, coarse to fine: opening [m], multiplier; AFS, openings ASTM E11.
SIEVES = (
    (3.35e-3, 3),
    (1.70e-3, 5),
    (850e-6, 10),
    (600e-6, 20),
    (425e-6, 30),
    (300e-6, 40),
    (212e-6, 50),
    (150e-6, 70),
    (106e-6, 100),
    (75e-6, 140),
    (53e-6, 200),
)
PAN = 300  # multiplier of what passes the last


def pattern_factor(contraction: float) -> float:
    """Size of a mould cavity over the casting [-], for a linear contraction on the casting's size.

    Source: patternmaker's rule, 1 + contraction; handbooks state contraction on the cold casting.
    """
    return 1 + contraction


def number_of(permeability: float, viscosity: float) -> float:
    """AFS permeability number [-] of a sand with this Darcy permeability [m2]; inverse of `permeability`."""
    return permeability / (PERMEABILITY_UNIT * viscosity)


def fineness(sizes: Sequence[float], finer: Sequence[float]) -> float:
    """AFS grain fineness number [-] of a cumulative size curve.

    Parameters
    ----------
    sizes, finer : (n,) float
        Sizes rising [m], mass share finer [-], 0 to 1.

    Source
    ------
    `grains.fineness_number` on the AFS sieves; between points linear in the share against ln size. Clay
    (under 20 um) is to be taken off first.
    """
    at = np.log([opening for opening, _ in SIEVES])
    passing = np.interp(at, np.log(sizes), finer, left=0.0, right=1.0)
    retained = -np.diff(np.concatenate([[1.0], passing, [0.0]]))
    return grains.fineness_number(retained.tolist(), [*(times for _, times in SIEVES), PAN])


def ignition(burnable: float) -> float:
    """Loss on ignition [-] of sand that carries this mass of what burns off over its own mass [-].

    Source: definition, share of the mass before; the sand itself loses nothing.
    """
    return burnable / (1 + burnable)
