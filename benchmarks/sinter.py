"""Sintering of parts that sag, by our finite elements, beside a general finite-element library.

Ours: whole furnace programmes, large strain, sliding contact with friction, two threads. A T-bracket on about
4,000, 20,000, 213,000 and (with 8 GB of memory free, or the word "large") 974,000 cells, and a tube on its
side: seconds, memory, and iterations of each solution against size. Then both parts pre-deformed,
corrected and judged on unrelated finer grids, through `stations.sinter` with the cards of the shop.

General: one step's equations of the same bracket, foot clamped, by scikit-fem: quadratic tetrahedra on a mesh
of its own (each cube of a regular grid cut into six), assembled, and solved by conjugate gradients with the
multigrid of pyamg on rigid body modes. Both are compared with the sag of the finest grid of each; the
general library gets the coarsest mesh whose error is no larger than ours. Seconds are of processor time, so
that a busy machine does not decide; the wall clock is told too, and counts on idle cores only.

    python benchmarks/sinter.py [large]
"""

import json
import math
import resource
import sys
import time
from pathlib import Path

import manifold3d
import numpy as np
import trimesh

from sagger.cards.read import load
from sagger.geometry.cells import cutting, warp
from sagger.geometry.surface import mesh
from sagger.goods.order import Choices, Request, Tolerance
from sagger.goods.part import Part
from sagger.physics import solid
from sagger.physics.solid import multigrid, stiffness
from sagger.physics.solid.body import spread_weight, volumes
from sagger.physics.solid.threads import threads
from sagger.stations import shrink, sinter

SOFTNESS, STEEL, TO_97 = 5e-6 / 1.7, 7950 * 9.81, math.log(0.42 / 0.03)
TARGETS = {"20k": 2.0, "213k": 18.0, "tube": 20.0, "974k": 80.0}  # wall seconds on two idle cores


def bracket():
    """T: stem 6 x 12 x 20 mm under a bar of 48 x 12 x 4 mm."""
    stem = manifold3d.Manifold.cube((6, 12, 24)).translate((21, 0, 0))
    whole = (stem + manifold3d.Manifold.cube((48, 12, 4)).translate((0, 0, 20))).to_mesh()
    return mesh.shape(whole.vert_properties[:, :3], whole.tri_verts)


def tube():
    """30 mm wide, 3 mm thick, 20 mm long, on its side."""
    body = trimesh.creation.annulus(12, 15, 20, sections=180)
    body.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, (1, 0, 0)))
    return mesh.shape(body.vertices - [0, 0, body.vertices[:, 2].min()], body.faces)


def cycle(shape, pitch_mm, steps, near=2.0):
    """A whole programme from 0.58 to 0.97: seconds, iterations, memory so far."""
    begun, used = time.perf_counter(), time.process_time()
    body = solid.build(cutting.cells(shape, pitch_mm))
    samples = warp.underside(shape, near * pitch_mm, pitch_mm / 2, 2 * pitch_mm)
    feet = solid.Feet(body.points(samples.points * 1e-3, samples.inward), samples.area * 1e-6)
    green = np.full(len(body.body.share), 0.58)
    ready = time.perf_counter()
    setting = solid.FiringSetting(solid.plain(TO_97, SOFTNESS), STEEL, solid.Setter(0.3), steps=steps)
    out = solid.fire(body, solid.GreenBricks(body.place, green), setting, feet=feet)
    return {
        "cells": len(green),
        "unknowns": 3 * len(body.place),
        "prepared_s": round(ready - begun, 2),
        "wall_s": round(time.perf_counter() - ready, 2),
        "cpu_s": round(time.process_time() - used, 2),
        "steps": out.steps,
        "solutions": out.solutions,
        "iterations": out.iterations,
        "iterations_per_solution": round(out.iterations / out.solutions, 1),
        "peak_gb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6, 2),
    }


def part(name, shape):
    extent = tuple(float(each) for each in np.ptp(shape.vertices, axis=0))
    return Part(
        request=Request(
            name=name, file="", unit="mm", quantity=1, tolerance=Tolerance(kind="percent", value=1.0)
        ),
        digest="",
        shape=shape,
        volume_mm3=mesh.volume(shape),
        area_mm2=mesh.area(shape),
        extent_mm=extent,
        thickest_mm=4.0,
        turns=np.eye(3)[None],
        healed=(),
        findings=(),
    )


def bent(name, shape):
    """Misfit left over that before, on an unrelated finer grid."""
    powder, furnace = load("powder", "steel-316l"), load("furnace", "metal-batch")
    green = shrink.compensate(part(name, shape), shrink.predict(powder, Choices()))
    begun, used = time.perf_counter(), time.process_time()
    sag = sinter.predeform(green, powder, furnace, "quick").sag
    after = sag.after or sag.before
    return {
        "before_rms_mm": round(sag.before.rms_mm, 4),
        "after_rms_mm": round(after.rms_mm, 4),
        "after_most_mm": round(after.most_mm, 4),
        "share": round(after.rms_mm / sag.before.rms_mm, 4),
        "wall_s": round(time.perf_counter() - begun, 1),
        "cpu_s": round(time.process_time() - used, 1),
    }


POROSITY = 0.3
PITCHES = (1.0, 0.5, 1 / 3, 0.25)  # of ours, all of them whole parts of the bracket
SHEAR, BULK = (1 - POROSITY) ** 2, 4 / 3 * (1 - POROSITY) ** 3 / POROSITY


def one_step(pitch_mm):
    """Ours: sag of the arm's tip under its weight, foot clamped, unit viscosity; seconds of one step."""
    body = solid.build(cutting.cells(bracket(), pitch_mm, (0.0, 0.0, 0.0)))
    place, count = body.place * 1e3, len(body.body.share)
    system, one = stiffness.room(body.body), np.ones(count)
    moduli = stiffness.StepModuli(SHEAR * one, BULK * one, BULK * one, np.zeros((count, 3)))
    force = np.zeros_like(place)
    force[:, 2] = -spread_weight(body.body, volumes(body.body, place)[0], len(place))
    held = np.flatnonzero(place[:, 2] < 1e-6)
    used = time.process_time()
    with threads():
        stiffness.assemble(body.body, place, moduli, np.zeros_like(place), system)
        stuck = corner_points(body, held)
        solid.points.stiffened(
            stuck,
            body.body.levels[0],
            np.full((len(held), 3), 1e4 * SHEAR * pitch_mm),
            system,
        )
        stiffness.complete(body.body, system)
        tool = multigrid.solver(body.body, system)
        solved = multigrid.solve(tool, force, 1e-6 * multigrid.length(force))
    took = time.process_time() - used
    tip = np.argmin(np.linalg.norm(place - (48, 6, 20), axis=1))
    return -solved.x[tip, 2], took, 3 * len(place), solved.iterations


def corner_points(body, which):
    nodes = body.body.nodes
    brick, corner = np.zeros(len(body.place), int), np.zeros(len(body.place), int)
    for a in range(8):
        brick[nodes[:, a]], corner[nodes[:, a]] = np.arange(len(nodes)), a
    return solid.Points(brick[which], np.eye(8)[corner[which]])


def general(pitch_mm):
    """The same by quadratic tetrahedra of scikit-fem and smoothed aggregation of pyamg."""
    import pyamg
    import skfem
    from skfem.helpers import ddot, sym_grad, trace

    axes = [np.arange(0, side + pitch_mm / 2, pitch_mm) for side in (48, 12, 24)]
    grid = skfem.MeshTet.init_tensor(*axes)
    middles = grid.p[:, grid.t].mean(axis=1)
    inside = (middles[2] > 20) | ((middles[0] > 21) & (middles[0] < 27))
    grid = grid.restrict(np.flatnonzero(inside))
    used = time.process_time()
    basis = skfem.Basis(grid, skfem.ElementVector(skfem.ElementTetP2()), intorder=2)

    @skfem.BilinearForm
    def form(u, v, _):
        e, f = sym_grad(u), sym_grad(v)
        return 2 * SHEAR * ddot(e, f) + (BULK - 2 / 3 * SHEAR) * trace(e) * trace(f)

    @skfem.LinearForm
    def load_(v, _):
        return -v[2]

    whole, force = form.assemble(basis), load_.assemble(basis)
    fixed = basis.get_dofs(lambda x: np.abs(x[2]) < 1e-9).all()
    free = np.setdiff1d(np.arange(basis.N), fixed)
    system = whole[free][:, free].tocsr()
    turns = rigid(basis)[free]
    tool = pyamg.smoothed_aggregation_solver(system, B=turns)
    left = []
    moved = np.zeros(basis.N)
    moved[free] = tool.solve(force[free], tol=1e-6, accel="cg", residuals=left, maxiter=500)
    took = time.process_time() - used
    where = np.linalg.norm(basis.doflocs.T - (48, 6, 20), axis=1)
    tip = [k for k in np.flatnonzero(where < 1e-6) if k in set(basis.nodal_dofs[2])]
    return -moved[tip[0]], took, basis.N, len(left) - 1


def rigid(basis):
    """Six motions of the whole body at the unknowns, one column each."""
    x, y, z = basis.doflocs
    which = np.zeros(basis.N, int)
    for dofs in (basis.nodal_dofs, basis.edge_dofs):
        for k in range(3):
            which[dofs[k]] = k
    modes = np.zeros((basis.N, 6))
    for k in range(3):
        modes[which == k, k] = 1
    for column, (a, b) in enumerate(((0, 1), (1, 2), (2, 0)), start=3):
        other = (x, y, z)
        modes[which == a, column] = -other[b][which == a]
        modes[which == b, column] = other[a][which == b]
    return modes


def beside():
    """How many times longer the general library takes to be as exact."""
    rows = {"ours": {}, "general": {}}
    for pitch in PITCHES:
        rows["ours"][pitch] = one_step(pitch)
    rows["general"][1.0] = general(1.0)
    sags = [rows["ours"][pitch][0] for pitch in PITCHES]
    answer = (
        sags[-1] + (sags[-1] - sags[-2]) / 2
    )  # first order at the re-entrant corner: half of the last gain
    for kind, found in rows.items():
        for pitch, (sag, took, unknowns, turns) in found.items():
            print(
                f"{kind:8s} {pitch:4.1f} mm  {unknowns:8d} unknowns  sag {sag:9.2f}  "
                f"off {1 - sag / answer:6.2%}  {took:7.2f} CPU s  {turns} iterations"
            )
    theirs = rows["general"][1.0]
    good = [found for found in rows["ours"].values() if found[0] >= theirs[0]]
    ours = good[0] if good else rows["ours"][PITCHES[-1]]
    return theirs[1] / ours[1], {"ours_off": 1 - ours[0] / answer, "general_off": 1 - theirs[0] / answer}


def free_gb():
    """Memory that a process may still have; 0 where the system does not say."""
    try:
        said = dict(line.split(":") for line in Path("/proc/meminfo").read_text().splitlines())
    except OSError:
        return 0.0
    return int(said["MemAvailable"].split()[0]) / 1e6


def main():
    cycle(bracket(), 1.0, 2)  # compiles
    rows = {"4k": cycle(bracket(), 1.0, 8), "20k": cycle(bracket(), 0.6, 8)}
    rows["213k"] = cycle(bracket(), 0.2656, 8)
    rows["tube"] = cycle(tube(), 0.38, 10)
    if "large" in sys.argv or free_gb() >= 8:
        rows["974k"] = cycle(bracket(), 0.1585, 8)
    for name, row in rows.items():
        wanted = f"  target {TARGETS[name]} s wall on idle cores" if name in TARGETS else ""
        print(f"{name:5s} {row}{wanted}")
    for name, row in rows.items():
        print(f"{name:5s} {row['unknowns']:8d} unknowns  {row['iterations_per_solution']} iterations each")
    shares = {name: bent(name, shape) for name, shape in (("T", bracket()), ("tube", tube()))}
    for name, row in shares.items():
        print(name, row)
    times, off = beside()
    large = rows.get("974k")
    print(
        json.dumps(
            {
                "cycle_200k_wall_s": rows["213k"]["wall_s"],
                "cycle_200k_cpu_s": rows["213k"]["cpu_s"],
                "cycle_1m_wall_s": large["wall_s"] if large else None,
                "cycle_1m_cpu_s": large["cpu_s"] if large else None,
                "cycle_tube_wall_s": rows["tube"]["wall_s"],
                "cycle_preview_wall_s": rows["20k"]["wall_s"],
                "peak_gb": rows["213k"]["peak_gb"],
                "peak_1m_gb": large["peak_gb"] if large else None,
                "residual_share_after_3": max(row["share"] for row in shares.values()),
                "times_faster_than_general": round(times, 1),
                "iterations_per_solution": {k: row["iterations_per_solution"] for k, row in rows.items()},
                "error_beside_general": {key: round(value, 4) for key, value in off.items()},
                "pre_deformed": shares,
            }
        )
    )


if __name__ == "__main__":
    main()
