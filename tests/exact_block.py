"""Heat and first-order cure in a block heated alike on all faces: exact series, Simpson's rule along it.

What the voxels of the oven are held against. Incropera et al., sections 5.5 and 5.8: product of three slabs.
"""

import numpy as np
from scipy.constants import R
from scipy.integrate import cumulative_simpson
from scipy.optimize import brentq

from sagger.physics.heat import conduction

STEPS = 1000


def temperature(block, depth, times):
    """At one place in the block [K]."""
    return block.oven - (block.oven - block.start) * conduction.unheated(block, depth, times)


def equivalent(times, kelvin, energy, reference):
    """Time at `reference` that would have cured as much, after each of `times` [s]."""
    pace = np.exp(-energy / R * (1 / np.asarray(kelvin) - 1 / reference))
    return cumulative_simpson(pace, x=times, initial=0.0)


def seen(block, depth, time, energy, reference):
    """Equivalent time of one place after `time` in the oven [s]."""
    times = np.linspace(0.0, time, STEPS + 1)
    return equivalent(times, temperature(block, depth, times), energy, reference)[-1]


def cure_time(block, depth, needed, energy, reference):
    """When one place has seen `needed` seconds at `reference` [s]."""
    longest = 20 * min(block.half_sides) ** 2 / block.diffusivity + needed

    def short(time):
        return seen(block, depth, time, energy, reference) - needed

    return brentq(short, 1e-2 * needed, longest, rtol=1e-9)


def degree(equivalent, t95):
    """Degree of cure of a binder that is 95 % cured in `t95` [s]."""
    return 1 - 0.05 ** (np.asarray(equivalent) / t95)
