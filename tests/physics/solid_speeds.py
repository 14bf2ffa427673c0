"""How fast a small body moves at one moment of sintering: our bricks, some nodes held, solved directly. SI.

Standard numbers as in tests/published/creep.toml: 1e9 Pa.s, 1.7 J/m2, 5 um, density 0.6.
"""

from typing import NamedTuple

import numpy as np
from scipy import sparse
from solid_bodies import on

from sagger.physics.solid import law, product, stiffness
from sagger.physics.solid.body import spread_weight, volumes
from sagger.physics.solid.points import gathered


class Matter(NamedTuple):
    viscosity: float  # of the dense skeleton [Pa.s]
    drive: float  # 3 alpha / r [Pa]


STANDARD = Matter(1e9, 3 * 1.7 / 5e-6)


class Moving(NamedTuple):
    speed: np.ndarray  # float64 (n, 3) [m/s]
    reaction: np.ndarray  # float64 (n, 3): of what holds the nodes [N]


def moving(body, density, held, force=0.0, matter=STANDARD):
    """Speeds of the nodes.

    density : float or (m,); held : bool (n, 3); force : float or (n, 3), besides the sintering stress [N]
    """
    rho = np.broadcast_to(np.asarray(density, float), body.body.share.shape)
    shear, bulk = matter.viscosity * rho**2, matter.viscosity * 4 / 3 * rho**3 / (1 - rho)
    pull = np.repeat((matter.drive * rho**2)[:, None], 3, axis=1)
    local = np.minimum(bulk, law.MOST_LOCAL * shear)
    system = stiffness.room(body.body)
    given = stiffness.StepModuli(shear, bulk, local, pull)
    stiffness.assemble(body.body, body.place, given, np.zeros_like(body.place), system)
    whole = product.square(body.body.levels[0].pattern, system.whole, system.diagonal[0]).tocsr()
    load = (system.force + force).ravel()
    free, speed = np.flatnonzero(~held.ravel()), np.zeros(load.size)
    speed[free] = sparse.linalg.spsolve(whole[free][:, free].tocsc(), load[free])
    return Moving(speed.reshape(-1, 3), (whole @ speed - load).reshape(-1, 3))


def weight(body, density, of_solid):
    """Forces of the body's own weight on its nodes, float64 (n, 3) [N]."""
    mass = volumes(body.body, body.place)[0] * density
    return np.array([0.0, 0.0, -of_solid]) * spread_weight(body.body, mass, len(body.place))[:, None]


def pushed(body, places, forces):
    """Forces (p, 3) [N] at places (p, 3) [m] on the nodes."""
    return gathered(body.points(places), body.body.nodes, forces, len(body.place))


def quarter_held(body):
    """Nodes that may not leave the planes of symmetry x = 0 and y = 0."""
    none = np.zeros(len(body.place), bool)
    return np.column_stack([on(body, 0, 0), on(body, 1, 0), none])
