"""How powder flows, and through which holes it still comes out. All SI."""

from __future__ import annotations

from scipy.constants import g

from sagger.errors import LawError

# USP <1174>: upper bounds of the compressibility index in each class; the table's gaps are closed upward
CLASSES = (
    (0.10, "excellent"),
    (0.15, "good"),
    (0.20, "fair"),
    (0.25, "passable"),
    (0.31, "poor"),
    (0.37, "very poor"),
)
WORST = "very, very poor"


def hausner(apparent: float, tapped: float) -> float:
    """Hausner ratio [-]: tapped over apparent density.

    Raises
    ------
    LawError
        If a density is not above 0 or tapping loosened the powder.

    Source: USP <1174>.
    """
    if not 0 < apparent <= tapped:
        raise LawError(f"0 < apparent <= tapped density is needed, got {apparent:g} and {tapped:g} kg/m3")
    return tapped / apparent


def compressibility(apparent: float, tapped: float) -> float:
    """Carr's compressibility index [-], 0 to 1. Source: USP <1174>; 1 - 1 / Hausner ratio."""
    return 1 - 1 / hausner(apparent, tapped)


def flow_class(apparent: float, tapped: float) -> str:
    """How the powder flows, in the words of USP <1174>, from its compressibility index."""
    index = compressibility(apparent, tapped)
    return next((word for bound, word in CLASSES if index <= bound + 1e-12), WORST)


def jam_opening(grain: float, ratio: float = 5.0) -> float:
    """Smallest hole that free-flowing grains rarely jam [m].

    Parameters
    ----------
    grain : float
        Largest grains [m].
    ratio : float
        Hole over grain; 5 for balls, more for broken grains.

    Source
    ------
    Zuriguel et al., Phys. Rev. E 71 (2005) 051303 (abstract read; 4.94 from memory). Every hole has some
    chance to jam: Thomas and Durian, Phys. Rev. Lett. 114 (2015) 178001.
    """
    return ratio * grain


def arching_opening(strength: float, bulk: float, slot: bool = False) -> float:
    """Smallest hole through which powder that sticks still falls [m].

    Parameters
    ----------
    strength : float
        Unconfined yield strength of the loose powder [Pa].
    bulk : float
        Its density [kg/m3].
    slot : bool
        A long slot instead of a round hole.

    Source: Jenike, Bulletin 123, University of Utah (1964): B = H f / (rho g), H 2.2 and 1.1 (memory).
    """
    return (1.1 if slot else 2.2) * strength / (bulk * float(g))


def least_opening(grain: float, bulk: float, strength: float) -> float:
    """Smallest round hole through which loose powder leaves [m]: it neither jams nor arches.

    Parameters
    ----------
    grain : float
        Largest grains, d90 [m].
    bulk, strength : float
        As in `arching_opening`; a strength of 0 is a powder that flows freely.

    Source
    ------
    The larger of `jam_opening` and `arching_opening`.
    """
    return max(jam_opening(grain), arching_opening(strength, bulk))
