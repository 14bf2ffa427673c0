"""How a furnace cools by itself. All SI, temperatures in kelvin."""

from __future__ import annotations

import math

from sagger.errors import LawError


def slows_at(rate: float, constant: float, room: float) -> float:
    """Temperature below which a furnace no longer keeps the rate that is asked for [K].

    Parameters
    ----------
    rate : float
        Of cooling, as asked for [K/s].
    constant : float
        Time in which the difference to the room falls to 1/e when nothing heats or blows [s].
    room : float
        Temperature around the furnace [K].

    Source
    ------
    Newton's law of cooling, dT/dt = -(T - room) / constant, equal to the rate asked for.
    """
    if rate <= 0 or constant <= 0:
        raise LawError(f"rate and time of cooling must be above 0, got {rate:g} K/s and {constant:g} s")
    return room + rate * constant


def cooling_time(hot: float, cold: float, rate: float, constant: float, room: float) -> float:
    """Time to cool from `hot` to `cold`: at the rate asked for, then as the furnace does by itself [s].

    Parameters
    ----------
    hot, cold : float
        Between which temperatures [K]; 0 s if `hot` is not above `cold`.
    rate, constant, room : float
        As in `slows_at`.

    Raises
    ------
    LawError
        If `cold` is not above the room: a furnace never gets there.

    Source
    ------
    Newton's law of cooling, straight down to `slows_at` and exponential below. A furnace at heat radiates
    and cools faster than this; a load holds heat longer.
    """
    if cold <= room:
        raise LawError(f"a furnace never cools to {cold:.1f} K in a room of {room:.1f} K")
    knee = max(slows_at(rate, constant, room), cold)
    straight = max(0.0, hot - knee) / rate
    bent = min(hot, knee)
    return straight + (constant * math.log((bent - room) / (cold - room)) if bent > cold else 0.0)
