"""What of a job is other than what approved factors were measured under, in words."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.factors import Conditions
from sagger.goods.powder import Segment
from sagger.units import into

ALIKE = 0.02  # layers and saturations closer than this, relative, are the same; assumed
NAMED = ("binder", "head", "box")  # cards by which no law tells a length


def words(then: Conditions, now: Conditions) -> tuple[str, ...]:
    """Each difference, now against then; empty if nothing is known to differ."""
    return (*_lot(then, now), *_run(then, now), *untold(then, now))


def untold(then: Conditions, now: Conditions) -> tuple[str, ...]:
    """Differences that no law here turns into a length."""
    return tuple(_untold(then, now))


def held(programme: tuple[Segment, ...]) -> str:
    """Peak, time held there, rate on the way up to it and gas of a programme."""
    peak = max(programme, key=lambda stretch: stretch.target)
    hold = sum(stretch.hold for stretch in programme if stretch.target == peak.target)
    return (
        f"{into(hold, 'min'):.4g} min at {into(peak.target, 'degC'):.4g} °C, "
        f"{into(peak.rate, 'K/min'):.3g} K/min, {peak.atmosphere}"
    )


def _lot(then: Conditions, now: Conditions) -> Iterator[str]:
    if then.lot == now.lot and then.green_density == now.green_density and then.grain == now.grain:
        return
    yield f"{_green(now)} instead of {_green(then)}"


def _green(of: Conditions) -> str:
    name = f"lot {of.lot}" if of.lot else "a lot as the card says"
    return f"{name} (green {of.green_density:.1%}, d50 {into(of.grain, 'um'):.3g} µm)"


def _run(then: Conditions, now: Conditions) -> Iterator[str]:
    if then.furnace != now.furnace:
        yield f"furnace {now.furnace} instead of {then.furnace}"
    before, after = _course(then.programme), _course(now.programme)
    if before == after:
        return
    short, long = held(then.programme), held(now.programme)
    if short != long:
        yield f"{long} instead of {short}"
    else:
        yield "another way up to the peak"


def _course(programme: tuple[Segment, ...]) -> list[tuple[float, float, float, str]]:
    return [(each.rate, each.target, each.hold, each.atmosphere) for each in programme]


def _untold(then: Conditions, now: Conditions) -> Iterator[str]:
    if abs(now.layer / then.layer - 1) > ALIKE:
        yield f"layers of {into(now.layer, 'um'):.3g} µm instead of {into(then.layer, 'um'):.3g} µm"
    if abs(now.saturation / then.saturation - 1) > ALIKE:
        yield f"saturation {now.saturation:.0%} instead of {then.saturation:.0%}"
    for kind in NAMED:
        before, after = getattr(then, kind), getattr(now, kind)
        if before != after:
            yield f"{kind} {after} instead of {before}"
