"""One step's equations, solved once or a few times until feet and setter agree. SI."""

from __future__ import annotations

import numpy as np

from sagger.physics.solid import contact, multigrid, product, stiffness
from sagger.physics.solid import feet as on_setter
from sagger.physics.solid.contact import Near
from sagger.physics.solid.feet import Feet, Touch
from sagger.physics.solid.points import carried, gathered, stiffened
from sagger.physics.solid.state import MISS, Fixed, Guess, State, StepSupport
from sagger.physics.solid.stiffness import System

Array = np.ndarray
MOST_TURNS = 12  # solutions of one step while feet touch and lift
TOUCHED, RUBBED = 0.02, 0.12  # disagreement that is let stand
THIN_FOOT = 2.0  # cells: a foot narrower than that lets the body roll, unless it is held


def settled(
    fixed: Fixed, state: State, guess: Guess, between: Array
) -> tuple[Array, StepSupport, tuple[int, int]]:
    """Displacement in the step, pressure under the feet, and what it took."""
    body, system, setting = fixed.built.body, fixed.system, fixed.setting
    level = body.levels[0]
    middling = float(np.median(guess.wish.moduli.shear))
    modes, hold = _rolling(fixed, state, between, middling)
    enough = setting.enough * _load(fixed, guess)
    if setting.held is not None:
        points, springs = setting.held
        stiffened(points, level, springs * middling, system)
        system.force[:] -= gathered(
            points,
            body.nodes,
            springs * middling * carried(points, body.nodes, guess.moved),
            len(between),
        )
    if fixed.feet is None:
        stiffness.complete(body, system)
        tool = multigrid.solver(body, system, modes, hold)
        solved = multigrid.solve(tool, system.force - _held_back(modes, hold, guess.moved), enough)
        return (
            guess.moved + solved.x,
            StepSupport(state.pressure, 0.0, state.borne, 0.0),
            (1, solved.iterations),
        )
    touch, start = _touching(fixed, state, guess, middling)
    near, clear = _near(fixed, state, guess, touch.stiffness)
    moved, held, effort = _on_feet(fixed, state, guess, (touch, start, near), (modes, hold, enough))
    return moved, held._replace(clear=clear), effort


def _near(fixed: Fixed, state: State, guess: Guess, stiffness: float) -> tuple[Near, float]:
    """Gaps of the body's own surface that may close in this step, and how wide all are at least [m]."""
    if fixed.skin is None or fixed.green_skin is None:
        return contact.NONE, 0.0
    more = float(np.abs(guess.moved - guess.even).max())
    reach = 2 * more + MISS * float(np.ptp(state.place, axis=0).max())
    if state.clear > reach:
        return contact.NONE, state.clear
    places = state.place, state.place + guess.moved
    pressing = contact.STIFFER * stiffness * float(state.shrunk[0] * state.shrunk[1])
    return contact.near(fixed.skin, fixed.built.body.nodes, fixed.green_skin, places, reach, pressing)


def _load(fixed: Fixed, guess: Guess) -> float:
    """What residuals are measured by: the weight, never all forces; the sintering stress for want of any."""
    weight = multigrid.length(fixed.weight)
    if weight > 0:
        return weight
    return float(np.sqrt(len(fixed.weight)) * fixed.built.pitch**2 * np.abs(guess.wish.moduli.pull).mean())


def _held_back(modes: Array, hold: float, moved: Array) -> Array:
    """Force that keeps motions of the whole body out, (n, 3) [N]."""
    out = np.zeros(moved.size)
    for mode in modes:
        out += hold * (mode @ moved.ravel()) * mode
    return out.reshape(moved.shape)


def _touching(fixed: Fixed, state: State, guess: Guess, shear: float) -> tuple[Touch, Array]:
    """What the feet meet in this step, and their heights before it."""
    feet, setter, pitch = fixed.feet, fixed.setting.setter, fixed.built.pitch
    assert feet is not None and setter is not None
    spots = carried(feet.points, fixed.built.body.nodes, state.place)
    shrunk = state.shrunk * guess.lengths
    floor = on_setter.ground(setter, spots * np.array([*guess.lengths[:2], 1.0]), shrunk, fixed.middle)
    area = feet.area * float(state.shrunk[0] * state.shrunk[1])
    gap = spots[:, 2] - floor
    near = gap <= gap.min() + on_setter.NEAR * pitch
    resting = area[state.pressure > 0].sum() if state.pressure.any() else area[near].sum()
    softest = fixed.weight.sum() / max(resting * on_setter.SOFT * pitch, 1e-30)
    wide = np.ptp(spots[near, :2], axis=0).max(initial=0.0) / 2 + pitch
    slip = on_setter.SLIP * max(1 - float(guess.lengths[:2].mean()), 1e-4) * wide
    stiff = min(softest, on_setter.STIFFEST * shear / pitch)
    touch = Touch(floor, area, stiff, on_setter.GROUND * shear / pitch, slip, setter.friction)
    return touch, spots[:, 2]


def _on_feet(
    fixed: Fixed,
    state: State,
    guess: Guess,
    touching: tuple[Touch, Array, Near],
    holding: tuple[Array, float, float],
) -> tuple[Array, StepSupport, tuple[int, int]]:
    """Solve, look which feet and gaps touch and how feet slip, and again until all agree."""
    body, system, feet = fixed.built.body, fixed.system, fixed.feet
    assert feet is not None
    (touch, start, near), (modes, hold, enough) = touching, holding
    level, total = body.levels[0], float(fixed.weight.sum())
    slip = carried(feet.points, body.nodes, guess.moved)
    press = _first(fixed, state, (touch, start), slip)
    bears = contact.first(near, state.borne)
    there = np.zeros((len(start), 3))  # springs in the matrix
    more, back = np.zeros_like(guess.moved), np.zeros_like(guess.moved)  # beyond the guess; its force
    iterations, turns = 0, 0
    while turns < MOST_TURNS:
        turns += 1
        fixed.say()
        springs = np.column_stack([press.side, press.side, press.normal])
        stiffened(feet.points, level, springs - there, system)
        there = springs
        stiffness.complete(body, system)
        pushed = on_setter.forces(touch, press, start + slip[:, 2], slip[:, :2])
        rest = system.force - back + gathered(feet.points, body.nodes, pushed, len(back))
        rest += contact.forces(near, bears, more) - _held_back(modes, hold, guess.moved + more)
        tool = multigrid.solver(body, system, modes, hold, contact.bonds(near, bears))
        solved = multigrid.solve(tool, rest, enough)
        iterations += solved.iterations
        back += _inner(body, system, feet, springs, solved.x)
        more += solved.x
        slip = carried(feet.points, body.nodes, guess.moved + more)
        height, gap = start + slip[:, 2], contact.gaps(near, more)
        lifted, rubbed = on_setter.disagreement(touch, press, height, slip[:, :2], total)
        pressure = on_setter.pressed(touch, height)
        press = on_setter.press(touch, pressure, slip[:, :2])
        settled, bears = contact.agree(near, bears, gap, total), gap < 0
        if lifted < TOUCHED and rubbed < RUBBED and settled:
            break
    bore = contact.borne(near, gap, len(state.borne))
    held = StepSupport(pressure, float(touch.area @ pressure) / total, bore, 0.0)
    return guess.moved + more, held, (turns, iterations)


def _first(
    fixed: Fixed, state: State, touching: tuple[Touch, Array], slip: Array
) -> on_setter.AssumedContact:
    """What is taken for true of the feet at first."""
    touch, start = touching
    if state.pressure.any():
        return on_setter.press(touch, state.pressure, slip[:, :2])
    return on_setter.first_press(touch, start, float(fixed.weight.sum()), fixed.built.pitch)[0]


def _inner(body: stiffness.FineBody, system: System, feet: Feet, springs: Array, x: Array) -> Array:
    """Force of the body alone against a displacement: the matrix's less the springs' in it."""
    out = np.empty_like(x)
    product.multiply(product.whole(body, system), x, out)
    at_feet = springs * carried(feet.points, body.nodes, x)
    return np.asarray(out - gathered(feet.points, body.nodes, at_feet, len(x)))


def _rolling(fixed: Fixed, state: State, between: Array, shear: float) -> tuple[Array, float]:
    """Turns of the whole body that thin feet would let happen, as rows, and how stiffly they are held."""
    none = np.zeros((0, between.size))
    if fixed.feet is None:
        return none, 0.0
    spots = carried(fixed.feet.points, fixed.built.body.nodes, state.place)
    touching = (
        state.pressure > 0
        if state.pressure.any()
        else (spots[:, 2] <= spots[:, 2].min() + on_setter.NEAR * fixed.built.pitch)
    )
    flat = spots[touching, :2] - spots[touching, :2].mean(axis=0)
    _, _, axes = np.linalg.svd(flat, full_matrices=False) if len(flat) > 1 else (0, 0, np.eye(2))
    rows = []
    share = (fixed.weight / max(fixed.weight.sum(), 1e-300))[:, None]
    arm = between - (share * between).sum(axis=0)
    for k in range(2):
        if np.ptp(flat @ axes[k]) < THIN_FOOT * fixed.built.pitch:
            along = np.array([*axes[1 - k], 0.0])
            mode = (np.cross(along, arm) * share).ravel()
            rows.append(mode / np.linalg.norm(mode))
    hold = 100 * shear * fixed.built.pitch * len(between) ** (1 / 3)
    return (np.array(rows) if rows else none), hold
