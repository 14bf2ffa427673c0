"""The programme this furnace can run, and the path of temperature it makes."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.goods.figure import cited
from sagger.goods.finding import Against, Finding, advice, loss, stop
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Segment, Sintering
from sagger.physics.heat import furnace_cooling
from sagger.units import into

ROOM = 293.15  # temperature at which a run begins, and around the furnace [K]; assumed
STEP_K = 5.0  # longest stretch of a ramp between two points of the path [K]
STEP_S = 300.0  # and of a hold [s]


class Path(NamedTuple):
    time: ndarray  # (n,) [s]
    temperature: ndarray  # (n,) [K]
    segment: ndarray  # (n,) int: index of the segment each point belongs to; the last one is the cooling


def limited(
    programme: tuple[Segment, ...], furnace: Furnace
) -> tuple[tuple[Segment, ...], tuple[Finding, ...]]:
    """The card's programme within what the furnace can do, and what had to give way."""
    if not programme:
        raise InputError("a programme needs one segment at least", field="sintering.programme")
    here, able, findings = ROOM, [], []
    for segment in programme:
        if segment.rate <= 0 or segment.hold < 0 or segment.target <= 0:
            raise InputError(
                "rate and target must be positive, hold not negative",
                field="sintering.programme",
                value=segment,
            )
        most = furnace.rate_most.value if segment.target >= here else furnace.cool_rate.value
        fit = dataclasses.replace(
            segment,
            rate=min(segment.rate, most),
            target=min(segment.target, furnace.temperature.value),
        )
        findings += [
            *_too_hot(segment, fit, furnace),
            *_wrong_gas(segment, furnace),
            *_too_fast(segment, fit, furnace),
        ]
        able.append(fit)
        here = fit.target
    return tuple(able), _once(findings)


def path(programme: tuple[Segment, ...], furnace: Furnace) -> Path:
    """Time and temperature from room temperature through the programme until the furnace is opened."""
    corners, owners = [(0.0, ROOM)], [0]
    for index, segment in enumerate(programme):
        time, here = corners[-1]
        up = time + abs(segment.target - here) / segment.rate
        corners += [(up, segment.target), (up + segment.hold, segment.target)]
        owners += [index, index]
    down = _cooling(*corners[-1], furnace)
    return _divided([*corners, *down], [*owners, *[len(programme)] * len(down)])


def _cooling(time: float, hot: float, furnace: Furnace) -> list[tuple[float, float]]:
    """Corners of the way down from `hot` at `time`, close enough for straight lines."""
    rate, slow, opened = furnace.cool_rate.value, furnace.cool_time, furnace.open_temperature
    if slow is None or opened is None:
        return [(time + abs(hot - ROOM) / rate, ROOM)]
    end, knee = opened.value, furnace_cooling.slows_at(rate, slow.value, ROOM)
    if hot <= end:
        return []
    steps = np.arange(1, np.ceil((min(hot, knee) - end) / STEP_K))
    stops = [*([knee] if end < knee < hot else []), *(min(hot, knee) - STEP_K * steps), end]
    return [
        (time + furnace_cooling.cooling_time(hot, stop, rate, slow.value, ROOM), float(stop))
        for stop in stops
    ]


def melts(programme: tuple[Segment, ...], card: Sintering, furnace: Furnace) -> Iterator[Finding]:
    """Stop where the programme goes above the card's solidus, look where the hottest place may."""
    if card.solidus is None:
        return
    peak, solid = max(segment.target for segment in programme), card.solidus.value
    hottest = peak + furnace.uniformity.value
    if hottest <= solid:
        return
    limit, source = into(solid, "degC"), cited(card.solidus)
    remedy = "Lower the peak and hold longer, or correct the solidus on the card."
    if peak > solid:
        text = (
            f"The programme goes to {into(peak, 'degC'):.0f} °C, {peak - solid:.0f} K above the solidus of "
            f"the powder, {limit:.0f} °C: pieces melt, slump and weld to the setter."
        )
        yield stop("melt-through", text, Against(into(peak, "degC"), limit, "degC", source), remedy)
    else:
        text = (
            f"The hottest place of {furnace.title} reaches {into(hottest, 'degC'):.0f} °C, "
            f"{hottest - solid:.0f} K above the solidus of the powder, {limit:.0f} °C."
        )
        yield loss("melt-through", text, Against(into(hottest, "degC"), limit, "degC", source), remedy)


def _divided(corners: list[tuple[float, float]], owners: list[int]) -> Path:
    """Each stretch in equal pieces, short enough for straight lines; ends of stretches are kept exactly."""
    (t, k), owner = np.array(corners).T, np.array(owners)
    last = 1 + np.flatnonzero(np.diff(t))  # corner at the end of each stretch that takes time
    took, rose = t[last] - t[last - 1], k[last] - k[last - 1]
    wanted = np.where(rose == 0, took / STEP_S, np.abs(rose) / STEP_K)
    pieces = np.maximum(np.ceil(wanted), 1).astype(np.int64)
    of = np.repeat(np.arange(len(last)), pieces)
    nth = np.arange(len(of)) - (np.cumsum(pieces) - pieces)[of] + 1
    ends, begins = last[of], last[of] - 1
    whole = nth == pieces[of]
    times = np.where(whole, t[ends], t[begins] + nth * (took / pieces)[of])
    temperatures = np.where(whole, k[ends], k[begins] + nth * (rose / pieces)[of])
    return Path(np.append(t[0], times), np.append(k[0], temperatures), np.append(0, owner[ends]))


def _too_hot(asked: Segment, fit: Segment, furnace: Furnace) -> Iterator[Finding]:
    if fit.target >= asked.target:
        return
    yield stop(
        "furnace temperature",
        f"The programme asks for {into(asked.target, 'degC'):.0f} °C, "
        f"{asked.target - fit.target:.0f} K more than {furnace.title} reaches.",
        Against(into(asked.target, "degC"), into(fit.target, "degC"), "degC", furnace.temperature.source),
        "Choose a hotter furnace, or a powder and programme that sinter at less.",
    )


def _wrong_gas(asked: Segment, furnace: Furnace) -> Iterator[Finding]:
    if asked.atmosphere in furnace.atmospheres:
        return
    yield stop(
        "furnace atmosphere",
        f"The programme asks for {asked.atmosphere}; {furnace.title} runs {', '.join(furnace.atmospheres)}.",
        Against(source=furnace.name),
        "Choose a furnace built and licensed for this gas.",
    )


def _too_fast(asked: Segment, fit: Segment, furnace: Furnace) -> Iterator[Finding]:
    if fit.rate >= asked.rate:
        return
    yield advice(
        "furnace rate",
        f"The ramp to {into(asked.target, 'degC'):.0f} °C asks for "
        f"{into(asked.rate, 'K/min'):.3g} K/min; this furnace manages "
        f"{into(fit.rate, 'K/min'):.3g} K/min, which was used.",
        Against(into(asked.rate, "K/min"), into(fit.rate, "K/min"), "K/min", furnace.rate_most.source),
        "Check density and time below; they hold for the slower ramp.",
    )


def _once(findings: list[Finding]) -> tuple[Finding, ...]:
    """One atmosphere may be asked for by many segments; say it once."""
    return tuple({finding.text: finding for finding in findings}.values())
