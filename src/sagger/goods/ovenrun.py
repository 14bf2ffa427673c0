"""One run of a box of loose powder in the oven, read by thermocouples, and what it tells."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good


@good
class OvenRun:
    name: str  # of the table
    digest: str  # of its bytes
    time: ndarray  # float64 (n,), rising from 0 [s]
    oven: ndarray  # float64 (n,) air beside the box [K]
    core: ndarray  # float64 (n,) in the powder [K]


@good
class RunPlace:
    """What was in the oven, and where it was read."""

    height_mm: float  # of powder above the platform
    at_mm: tuple[float, float, float]  # of the thermocouple, from the low corner of the bed
    packing: float  # share of the bed that is solid [-]
    packing_u: float
    place_u_mm: float = 5.0  # how well its place is known
    reading_u: float = 1.5  # standard uncertainty of a thermocouple [K]


@good
class FittedBed:
    conductivity: float  # [W/(m K)]
    u: float
    shares: tuple[tuple[str, float], ...]  # of the variance, largest first
    misfit: float  # root mean square of model less reading [K]
    time: ndarray  # [s]
    read: ndarray  # [K]
    modelled: ndarray  # [K]
