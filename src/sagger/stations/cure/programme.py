"""What the oven does: up to the set point by the stretches the cards name, and down again."""

from __future__ import annotations

from sagger.goods.binder import Binder
from sagger.goods.oven import Oven
from sagger.physics.heat.box_heat import Programme, ended

AT_ONCE = 60.0  # a change of the oven for which no ramp is known takes so long [s]
Corners = tuple[tuple[float, float], ...]


def rise(oven: Oven, binder: Binder, set_point: float) -> Corners:
    """Corners from the start to the set point: time [s], oven [K].

    The binder's stretches come first, no quicker than the oven. Without stretches and without a ramp the
    oven stands at its set point when the door closes.
    """
    time, kelvin = 0.0, oven.ambient.value
    rate = oven.ramp.value if oven.ramp else 0.0
    corners = [(time, kelvin)]
    for stretch in binder.programme:
        rate = min(stretch.rate.value, oven.ramp.value) if oven.ramp else stretch.rate.value
        target = min(stretch.target.value, set_point)
        time += abs(target - kelvin) / rate
        corners += [(time, target), (time + stretch.hold.value, target)]
        time, kelvin = time + stretch.hold.value, target
    if rate:
        corners.append((time + abs(set_point - kelvin) / (oven.ramp.value if oven.ramp else rate), set_point))
    else:
        corners = [(0.0, set_point)]
    return _rising(corners)


def held(corners: Corners, end: float) -> Programme:
    """The oven up the corners and then held until `end` [s]; cut off if the corners go on for longer."""
    times, kelvins = zip(*corners, strict=True)
    return ended(Programme(times, kelvins), end)


def cooled(heating: Programme, oven: Oven, span: float) -> Programme:
    """`heating`, then down to the room at the oven's ramp, and on for `span` [s]."""
    room = oven.ambient.value
    down = (heating.temperatures[-1] - room) / oven.ramp.value if oven.ramp else AT_ONCE
    cold = heating.times[-1] + max(down, AT_ONCE)
    return Programme((*heating.times, cold, cold + span), (*heating.temperatures, room, room))


def _rising(corners: list[tuple[float, float]]) -> Corners:
    """Corners at times that rise: of two at one time the later stays."""
    rising: list[tuple[float, float]] = []
    for corner in corners:
        if rising and corner[0] <= rising[-1][0]:
            rising.pop()
        rising.append(corner)
    return tuple(rising)
