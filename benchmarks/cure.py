"""Cure of a 400 x 250 x 250 mm box, beside the best simple solution with a general library.

One uniform box of steel powder, 30 h in an oven at 200 degC, on the same voxels in both. The general solution
is what one writes first with scipy.sparse: assemble one matrix, march with conjugate gradients and a diagonal
preconditioner, by Crank-Nicolson with steps that grow or are equal, or by backward Euler; a direct solver
does not fit into memory at this size. Each way is given more steps until its error is no larger than ours;
only that last march counts, and the quickest way. Seconds are of processor time (both use one core), so that
a busy machine does not decide; the wall clock is told too.

Error of a march: against ours run thirty times as exactly, largest of core, face, edge and corner, hourly.
What the voxels add is the same for all and is told by the exact series of the block (`error_k` has both).
Ours also cures every voxel; the general one only warms them. Then, ours alone: the same box with steel
walls, base plate and a nest.

    python benchmarks/cure.py [voxels along each axis]
"""

import json
import sys
import time

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.sparse import diags_array, eye_array, kron
from scipy.sparse.linalg import LinearOperator, cg

from sagger.physics.heat import conduction
from sagger.physics.heat.box_heat import ALLOWED, CuringBox, Programme, cure
from sagger.physics.heat.box_heat_grid import BoxWall, Face, HeatedBed, Material, middles, voxel_at
from sagger.physics.heat.box_heat_kinetics import CureKinetics

SIDES, HOUR, START, OVEN, FILM = (0.4, 0.25, 0.25), 3600.0, 298.15, 473.15, 20.0
POWDER, PIECE = Material(0.2, 2.385e6), Material(0.6, 2.7e6)
KINETICS = CureKinetics(49.6e3, 453.15, np.log(20) / HOUR)
CHECKED = np.arange(1, 31) * HOUR
PLACES = [(0.2, 0.125, 0.125), (0.2, 0.125, 0.021), (0.2, 0.021, 0.021), (0.021, 0.021, 0.021)]
LADDER = (30, 40, 60, 90, 120, 180, 240, 360, 480, 720, 960, 1440, 1920, 2880)


def widths(count):
    return tuple(np.full(count, side / count) for side in SIDES)


def exact(spots):
    """Temperatures at the middles of the voxels `spots`, by the exact series."""
    block = conduction.Block(SIDES, POWDER.conductivity, POWDER.volume_heat, FILM, START, OVEN)
    depths = [[min(at, side - at) for at, side in zip(spot, SIDES, strict=True)] for spot in spots]
    return np.array([OVEN - (OVEN - START) * conduction.unheated(block, depth, CHECKED) for depth in depths])


def uniform(count):
    return HeatedBed(np.ones((count,) * 3), widths(count), POWDER, POWDER, START)


def ours(count, allowed=ALLOWED):
    """Processor seconds, and histories at `PLACES`."""
    bed = uniform(count)
    begun = time.process_time()
    programme = Programme((0.0, 30 * HOUR), (OVEN, OVEN))
    run = cure(CuringBox(bed, (Face(FILM),) * 6, KINETICS), programme, PLACES, allowed=allowed)
    took = time.process_time() - begun
    return took, PchipInterpolator(run.times, run.at, axis=1)(CHECKED)


def assembled(count):
    """Heat flow over heat capacity of each voxel [1/s]: matrix of the temperatures, and the oven's pull."""
    lines, pulls = [], []
    for side in SIDES:
        width = side / count
        between = np.full(count - 1, POWDER.conductivity / width)
        outward = np.zeros(count)
        outward[[0, -1]] = 1 / (1 / FILM + width / 2 / POWDER.conductivity)
        main = -outward - np.r_[between, 0] - np.r_[0, between]
        lines.append(diags_array([between, main, between], offsets=[-1, 0, 1]) / width / POWDER.volume_heat)
        pulls.append(outward / width / POWDER.volume_heat)
    one = eye_array(count)
    x, y, z = lines
    flow = kron(kron(x, one), one) + kron(kron(one, y), one) + kron(kron(one, one), z)
    pull = pulls[0][:, None, None] + pulls[1][:, None] + pulls[2]
    return flow.tocsr(), pull.ravel()


def general(flow, pull, times, implicit):
    """Temperatures along `times`; `implicit` 1 is backward Euler, 0.5 Crank-Nicolson after two such steps."""
    warm, main = np.full(pull.size, START), flow.diagonal()
    for n, step in enumerate(np.diff(times)):
        share = 1.0 if n < 2 else implicit
        rate = flow @ warm + pull * OVEN
        inverse = 1 / (1 - share * step * main)
        system = LinearOperator(flow.shape, matvec=lambda v, s=share * step: v - s * (flow @ v))
        jacobi = LinearOperator(flow.shape, matvec=lambda v, i=inverse: i * v)
        change, trouble = cg(system, step * rate, x0=step * rate * inverse, rtol=1e-4, M=jacobi)
        if trouble:
            raise RuntimeError(f"conjugate gradients did not converge in step {n}")
        warm = warm + change
        yield warm


def marched(operators, spots, times, implicit):
    """Processor seconds, and histories at the voxels numbered `spots`."""
    begun = time.process_time()
    kept = [np.full(len(spots), START), *(warm[spots] for warm in general(*operators, times, implicit))]
    return time.process_time() - begun, PchipInterpolator(times, np.array(kept).T, axis=1)(CHECKED)


WAYS = {  # share of the new rate, power of time along which steps grow
    "Crank-Nicolson, growing steps": (0.5, 2),
    "Crank-Nicolson": (0.5, 1),
    "backward Euler": (1.0, 1),
}


def quickest(operators, spots, truth, error):
    """Name, steps, seconds and error of the quickest way that is as exact as `error`."""
    best = (None, 0, np.inf, np.inf)
    for name, (implicit, power) in WAYS.items():
        for steps in LADDER:
            times = 30 * HOUR * np.linspace(0, 1, steps + 1) ** power
            took, found = marched(operators, spots, times, implicit)
            off = np.abs(found - truth).max()
            print(f"  {name}: {steps} steps, {took:.1f} s, {off:.3f} K", flush=True)
            if off <= error and took < best[2]:
                best = (name, steps, took, off)
            if off <= error or took > best[2]:
                break  # exact enough, or already slower than another way that is
    return best


def nested(count):
    """Processor seconds and hours to cure of a box with walls, base plate and 60 blocks."""
    parts, rng = np.zeros((count,) * 3), np.random.default_rng(1)
    for _ in range(60):
        low, size = rng.uniform(0.05, 0.8, 3) * count, rng.uniform(0.03, 0.12, 3) * count
        parts[tuple(slice(int(at), int(at + long) + 1) for at, long in zip(low, size, strict=True))] = 1
    bed = HeatedBed(parts, widths(count), POWDER, PIECE, START)
    steel, plate = BoxWall(0.003, Material(15.0, 4.0e6)), BoxWall(0.012, Material(150.0, 2.4e6))
    faces = (Face(FILM, wall=steel),) * 4 + (Face(FILM, wall=plate), Face(FILM))
    programme = Programme((0.0, HOUR, 30 * HOUR), (START, OVEN, OVEN))
    begun = time.process_time()
    run = cure(CuringBox(bed, faces, KINETICS), programme)
    return time.process_time() - begun, run.cured_after / HOUR


def main(count=100):
    spots = [voxel_at(uniform(count), place) for place in PLACES]
    truth = exact([[middles(w)[i] for w, i in zip(widths(count), spot, strict=True)] for spot in spots])
    begun = time.perf_counter()
    took, found = ours(count)
    wall = time.perf_counter() - begun
    _, fine = ours(count, ALLOWED / 30)
    error, in_all = np.abs(found - fine).max(), np.abs(found - truth).max()
    print(f"ours: {count**3} voxels, {took:.1f} s ({wall:.1f} s by the clock), {error:.3f} K", flush=True)
    numbers = np.ravel_multi_index(np.transpose(spots), (count,) * 3)
    name, steps, slow, off = quickest(assembled(count), numbers, fine, error)
    print(f"general: {name}, {steps} steps, {slow:.1f} s, {off:.3f} K", flush=True)
    walled, hours = nested(count)
    print(f"ours, with walls and nest: {walled:.1f} s; last piece cured after {hours:.2f} h", flush=True)
    print(
        json.dumps(
            {
                "cells": count**3,
                "programme_s": round(wall, 2),
                "programme_cpu_s": round(took, 2),
                "nest_programme_cpu_s": round(walled, 2),
                "error_k": round(float(in_all), 4),
                "march_error_k": round(float(error), 4),
                "general_cpu_s": round(slow, 2),
                "general_march_error_k": round(float(off), 4),
                "times_faster_than_general": round(slow / took, 1),
            }
        )
    )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
