"""What a step of the march is told, and what it leaves behind. SI."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from sagger.physics.solid import law
from sagger.physics.solid.body import Built
from sagger.physics.solid.course import FurnaceCourse
from sagger.physics.solid.feet import Feet, Setter
from sagger.physics.solid.law import Shrink, StepWish
from sagger.physics.solid.points import Points
from sagger.physics.solid.skin import SamplePlaces, Skin
from sagger.physics.solid.stiffness import System

Array = np.ndarray
MISS = 0.03  # of the body's height: a step that misses its guess by more is halved
ENOUGH = 1e-2  # residual over weight at which a step counts as solved


class FiringSetting(NamedTuple):
    """What is done to a body."""

    course: FurnaceCourse
    weight: float  # of the dense solid per volume, rho_th g [N/m3]
    setter: Setter | None = Setter()
    shrinks: Shrink | None = None  # along x, y, z; None: alike
    end_density: float = 1 - law.LEAST_POROSITY
    most_bulk: float = law.MOST_BULK
    steps: int | None = None
    enough: float = ENOUGH
    held: tuple[Points, Array] | None = None  # springs under points (p, 3), in shear modulus times length [m]


class State(NamedTuple):
    """A body on its way."""

    place: Array  # float64 (n, 3) [m]
    porosity: Array  # float64 (m,)
    volume: Array  # float64 (m,) [m3]
    tension: Array  # float64 (m,): largest principal tension so far over sintering stress [-]
    warp: Array  # float64 (n, 3): what the last step added to even shrinkage [m]
    slower: Array  # float64 (m,): by how much less ln porosity fell in it than freely
    shut_in: Array  # float64 (m,): gas in closed pores over temperature, -1 while they are open [Pa/K]
    gained: tuple[float, float]  # its fluidity and decay; 0 before the first
    pressure: Array  # float64 (p,) under the feet [Pa]
    carried: float  # force under the feet over the weight [-]
    borne: Array  # float64 (s,): force of each sample of the skin on what lies opposite [N]
    bore: Array  # float64 (s,): the most of it so far
    clear: float  # gaps between its samples are at least so wide [m]
    shrunk: Array  # float64 (3,): mean length over green length
    effort: tuple[int, int, int]  # solutions, iterations, steps


class Fixed(NamedTuple):
    """What does not change on the way."""

    built: Built
    feet: Feet | None
    skin: Skin | None
    green_skin: SamplePlaces | None  # where its samples lay when green
    setting: FiringSetting
    shrinks: Shrink
    green: Array  # float64 (m,): relative density before
    warmer: Array  # float64 (m,) [K]
    mass: Array  # float64 (m,): of solid, as a volume [m3]
    weight: Array  # float64 (n,) on the nodes [N]
    middle: Array  # float64 (2,) [m]
    system: System
    say: Callable[[], None]  # called between solutions: says how far it is, and hears "stop"


class StepSupport(NamedTuple):
    """What carries a body at the end of a step."""

    pressure: Array  # float64 (p,) under the feet [Pa]
    carried: float  # by the feet, over the weight [-]
    borne: Array  # float64 (s,): by each sample of the skin [N]
    clear: float  # least gap before the step [m]


class Guess(NamedTuple):
    """What a step is taken to do before it is solved."""

    wish: StepWish
    even: Array  # float64 (n, 3): even shrinkage [m]
    moved: Array  # float64 (n, 3): with what the last step lets expect [m]
    lengths: Array  # float64 (3,): free, after over before
    gained: tuple[float, float]
    closing: Array  # float64 (m,): by how much ln porosity would fall freely
    shut_in: Array  # float64 (m,): gas over temperature after a free step
