"""A body through a furnace run: steps of large strain, each solved once or a few times. SI.

The shape moves with the material; each brick's density follows from its volume, so mass is kept exactly.
A step is taken at its middle, which is guessed from the step before; one that misses its guess is halved.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import NamedTuple

import numpy as np

from sagger.errors import LawError
from sagger.physics.solid import course as furnace
from sagger.physics.solid import gas, law, stiffness
from sagger.physics.solid.body import Built, spread_weight, tensions, volumes
from sagger.physics.solid.course import CourseStep
from sagger.physics.solid.feet import Feet, ordered
from sagger.physics.solid.settle import settled
from sagger.physics.solid.skin import Skin, lie
from sagger.physics.solid.state import MISS, FiringSetting, Fixed, Guess, State
from sagger.physics.solid.threads import threads
from sagger.tick import Tick, silent

Array = np.ndarray
SINTERING = "sintering the shape"
MOST_HALVINGS = 6
MOST_STEPS = 60
TURNED = 0.08  # least Jacobian over largest of a brick
MOST_POROSITY = 0.66


class Fired(NamedTuple):
    """What came out of the furnace."""

    place: Array  # float64 (n, 3) nodes [m]
    density: Array  # float64 (m,) relative [-]
    tension: Array  # float64 (m,): largest principal tension over sintering stress on the way [-]
    carried: float  # force under the feet over the weight [-]
    borne: Array  # float64 (s,): force of each sample of the skin on what lies opposite, at the end [N]
    bore: Array  # float64 (s,): the most of it on the way
    shrunk: Array  # float64 (3,): mean free length over green length [-]
    solutions: int
    iterations: int
    steps: int


class GreenBricks(NamedTuple):
    """The body as it goes into the furnace."""

    place: Array  # float64 (n, 3) of the nodes, the lowest foot at z = 0 [m]
    density: Array  # float64 (m,) relative green density of each brick [-]
    warmer: Array | None = None  # float64 (m,): how much hotter than the run each brick is [K]; None: none is


def fire(
    built: Built,
    green: GreenBricks,
    setting: FiringSetting,
    *,
    feet: Feet | None = None,
    skin: Skin | None = None,
    tick: Tick = silent,
) -> Fired:
    """A green body through a furnace run.

    Parameters
    ----------
    built : Built
    green : GreenBricks
    setting : FiringSetting
        Furnace run, weight, setter.
    feet : Feet, optional
        Needed for a body on a setter.
    skin : Skin, optional
        Then a body on a setter that meets itself rests on itself, without friction.

    Raises
    ------
    LawError
        If the run does not sinter, a density lies outside 1/3 to 1, the body flows away under its own
        weight, or a step cannot be solved.
    """
    low, high = green.density.min(), green.density.max()
    if not (low >= 1 / 3 and high < 1):
        raise LawError(f"green density must lie between 1/3 and 1, got {low:g} to {high:g}")
    with threads():
        fixed, state = _begin(built, green, setting, feet, skin)
        wanted = furnace.steps(setting.course, setting.steps)
        for number, step in enumerate(wanted):
            fixed = fixed._replace(say=partial(tick.say, SINTERING, number, len(wanted)))
            for part in _stepped(fixed, state, step):
                state = part
        tick.say(SINTERING, len(wanted), len(wanted))
    return Fired(
        place=state.place,
        density=1 - state.porosity,
        tension=state.tension,
        carried=state.carried,
        borne=state.borne,
        bore=state.bore,
        shrunk=state.shrunk,
        solutions=state.effort[0],
        iterations=state.effort[1],
        steps=state.effort[2],
    )


def _begin(
    built: Built, green: GreenBricks, setting: FiringSetting, feet: Feet | None, skin: Skin | None
) -> tuple[Fixed, State]:
    body, place, density = built.body, np.array(green.place, float), green.density
    volume, even = volumes(body, place)
    if even.min() < TURNED:
        raise LawError("the green shape folds over itself inside; deform it less, or use a coarser grid")
    fixed = Fixed(
        built=built,
        feet=ordered(feet) if feet is not None and setting.setter is not None else None,
        skin=skin,
        green_skin=None if skin is None else lie(skin, body.nodes, place),
        setting=setting,
        shrinks=setting.shrinks or law.shrink(),
        green=density,
        warmer=np.zeros(len(density)) if green.warmer is None else np.asarray(green.warmer, float),
        mass=density * volume,
        weight=spread_weight(body, density * volume * setting.weight, len(place)),
        middle=place[:, :2].mean(axis=0),
        system=stiffness.room(body),
        say=lambda: None,
    )
    count = 0 if fixed.feet is None else len(fixed.feet.area)
    none, untouched = np.zeros(len(density)), np.zeros(0 if skin is None else len(skin.area))
    state = State(
        place=place,
        porosity=1 - density,
        volume=volume,
        tension=none,
        warp=np.zeros_like(place),
        slower=none,
        shut_in=np.full(len(density), gas.OPEN),
        gained=(0.0, 0.0),
        pressure=np.zeros(count),
        carried=0.0,
        borne=untouched,
        bore=untouched,
        clear=0.0,
        shrunk=np.ones(3),
        effort=(0, 0, 0),
    )
    return fixed, state


def _stepped(fixed: Fixed, state: State, step: CourseStep, halvings: int = 0) -> Iterator[State]:
    """The step, or its halves if it misses its guess."""
    fixed.say()
    most = max(MOST_STEPS, 2 * (fixed.setting.steps or 0))
    if state.effort[2] >= most:
        raise LawError(
            f"not done after {most} steps: the part flows away under its own weight; support it, or "
            "fire it less hot"
        )
    after = _tried(fixed, state, step)
    if after is not None:
        yield after
        return
    if halvings >= MOST_HALVINGS:
        raise LawError(
            "the part gives way under its own weight faster than can be followed; support it, lay it down, "
            "or fire it less hot"
        )
    for half in furnace.halved(step):
        for part in _stepped(fixed, state, half, halvings + 1):
            state = part
            yield part


def _guessed(fixed: Fixed, state: State, step: CourseStep) -> Guess:
    setting = fixed.setting
    fluidity, decay = furnace.felt(step, setting.course, fixed.warmer)
    gained = float(fluidity.mean()), float(decay.mean())
    closing, shut_in = gas.closed(state.porosity, decay, state.shut_in, fixed.warmer, step.around)
    slower = state.slower * (gained[1] / state.gained[1]) if state.gained[1] > 0 else state.slower
    middle = state.porosity * np.exp((slower - closing) / 2)
    middle = np.clip(middle, law.LEAST_POROSITY, MOST_POROSITY)
    wish = law.wish(
        middle,
        fixed.green,
        (fluidity, decay, closing),
        fixed.shrinks,
        1 - setting.end_density,
        setting.most_bulk,
    )
    share = state.volume / state.volume.sum()
    lengths = np.exp(share @ wish.log_length)
    centre = np.array([*state.place[:, :2].mean(axis=0), 0.0])
    even = (lengths - 1) * (state.place - centre)
    more = gained[0] / state.gained[0] if state.gained[0] > 0 else 0.0
    return Guess(wish, even, even + more * state.warp, lengths, gained, closing, shut_in)


def _tried(fixed: Fixed, state: State, step: CourseStep) -> State | None:
    """The state after the step; None if the step is too long."""
    body = fixed.built.body
    guess = _guessed(fixed, state, step)
    between = state.place + guess.moved / 2
    stiffness.assemble(body, between, guess.wish.moduli, guess.moved, fixed.system)
    fixed.system.force[:, 2] -= fixed.weight
    moved, held, effort = settled(fixed, state, guess, between)
    height = float(np.ptp(state.place, axis=0).max())
    if not np.abs(moved - guess.moved).max() <= MISS * height:  # also where it is no number
        return None
    place = state.place + moved
    volume, even = volumes(body, place)
    if even.min() < TURNED:
        return None
    porosity = np.clip(1 - fixed.mass / volume, law.LEAST_POROSITY, MOST_POROSITY)
    tension = _tension(fixed, guess, between, moved)
    return State(
        place=place,
        porosity=porosity,
        volume=volume,
        tension=np.maximum(state.tension, tension),
        warp=moved - guess.even,
        slower=np.log(porosity / state.porosity) + guess.closing,
        shut_in=_shut(guess, state, porosity, step),
        gained=guess.gained,
        pressure=held.pressure,
        carried=held.carried,
        borne=held.borne,
        bore=np.maximum(state.bore, held.borne),
        clear=held.clear * guess.lengths.min() - 2 * np.abs(moved - guess.even).max(),
        shrunk=state.shrunk * guess.lengths,
        effort=(state.effort[0] + effort[0], state.effort[1] + effort[1], state.effort[2] + 1),
    )


def _shut(guess: Guess, state: State, porosity: Array, step: CourseStep) -> Array:
    """Gas over temperature in pores closed after the step; those that stayed open shut nothing in."""
    if step.around is None:
        return state.shut_in
    stayed = (state.shut_in < 0) & (1 - porosity < step.around.closure)
    return np.where(stayed, gas.OPEN, guess.shut_in)


def _tension(fixed: Fixed, guess: Guess, between: Array, moved: Array) -> Array:
    """Largest principal stress of each brick over the sintering stress; 0 where nothing sinters."""
    wish = guess.wish
    most = tensions(fixed.built.body, between, moved, wish.moduli, wish.strain)
    return np.where(wish.drive > 0, most / np.maximum(wish.drive, 1e-300), 0.0)
