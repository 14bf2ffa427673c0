"""The same body by a general finite-element library."""

import numpy as np
import skfem
from skfem.helpers import ddot, sym_grad, trace


def speeds(body, basis, held, more=0.0):
    """Solution under its own weight, `more` on top of that, some of its unknowns held: float64 (N,)."""

    @skfem.BilinearForm
    def form(u, v, _):
        e, f = sym_grad(u), sym_grad(v)
        return 2 * body.shear * ddot(e, f) + (body.bulk - 2 / 3 * body.shear) * trace(e) * trace(f)

    @skfem.LinearForm
    def load(v, _):
        return -v[2]

    force = load.assemble(basis) + more
    return skfem.solve(*skfem.condense(form.assemble(basis), force, D=np.flatnonzero(held)))


def ways(basis):
    """Which way each unknown moves: 0, 1, 2 for x, y, z."""
    along = np.empty(basis.N, int)
    for dofs in (basis.nodal_dofs, basis.edge_dofs, basis.facet_dofs, basis.interior_dofs):
        for k, some in enumerate(dofs):
            along[some] = k % 3
    return along
