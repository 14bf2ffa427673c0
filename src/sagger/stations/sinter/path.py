"""The programme this furnace can run, and the path of temperature it makes."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Segment, Sintering
from sagger.units import into

ROOM = 293.15  # temperature at which a run begins and ends [K]; assumed
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
    """Time and temperature from room temperature through the programme and back to it."""
    corners, owners = [(0.0, ROOM)], [0]
    for index, segment in enumerate(programme):
        time, here = corners[-1]
        up = time + abs(segment.target - here) / segment.rate
        corners += [(up, segment.target), (up + segment.hold, segment.target)]
        owners += [index, index]
    time, here = corners[-1]
    corners.append((time + abs(here - ROOM) / furnace.cool_rate.value, ROOM))
    owners.append(len(programme))
    return _divided(corners, owners)


def melts(programme: tuple[Segment, ...], card: Sintering, furnace: Furnace) -> tuple[Finding, ...]:
    """Stop where the programme goes above the card's solidus, look where the hottest place may."""
    if card.solidus is None:
        return ()
    peak, solid = max(segment.target for segment in programme), card.solidus.value
    hottest = peak + furnace.uniformity.value
    if hottest <= solid:
        return ()
    over = peak > solid
    text = (
        f"The programme goes to {into(peak, 'degC'):.0f} °C, {peak - solid:.0f} K above the solidus of the "
        f"powder, {into(solid, 'degC'):.0f} °C: pieces melt, slump and weld to the setter."
        if over
        else f"The hottest place of {furnace.title} reaches {into(hottest, 'degC'):.0f} °C, "
        f"{hottest - solid:.0f} K above the solidus of the powder, {into(solid, 'degC'):.0f} °C."
    )
    return (
        Finding(
            level="stop" if over else "look",
            what="melt-through",
            text=text,
            value=into(peak if over else hottest, "degC"),
            limit=into(solid, "degC"),
            unit="degC",
            source=f"{card.solidus.source}, {card.solidus.standing}",
            remedy="Lower the peak and hold longer, or correct the solidus on the card.",
        ),
    )


def _divided(corners: list[tuple[float, float]], owners: list[int]) -> Path:
    times, temperatures, segments = [np.zeros(1)], [np.array([corners[0][1]])], [np.zeros(1, dtype=np.int64)]
    for (t0, k0), (t1, k1), owner in zip(corners, corners[1:], owners[1:], strict=False):
        if t1 == t0:
            continue
        pieces = int(np.ceil(max(abs(k1 - k0) / STEP_K, (t1 - t0) / STEP_S if k0 == k1 else 0.0)))
        times.append(np.linspace(t0, t1, max(pieces, 1) + 1)[1:])
        temperatures.append(np.linspace(k0, k1, max(pieces, 1) + 1)[1:])
        segments.append(np.full(max(pieces, 1), owner))
    return Path(np.concatenate(times), np.concatenate(temperatures), np.concatenate(segments))


def _too_hot(asked: Segment, fit: Segment, furnace: Furnace) -> list[Finding]:
    if fit.target >= asked.target:
        return []
    return [
        Finding(
            level="stop",
            what="furnace temperature",
            text=f"The programme asks for {into(asked.target, 'degC'):.0f} °C, "
            f"{asked.target - fit.target:.0f} K more than {furnace.title} reaches.",
            value=into(asked.target, "degC"),
            limit=into(fit.target, "degC"),
            unit="degC",
            source=furnace.temperature.source,
            remedy="Choose a hotter furnace, or a powder and programme that sinter at less.",
        )
    ]


def _wrong_gas(asked: Segment, furnace: Furnace) -> list[Finding]:
    if asked.atmosphere in furnace.atmospheres:
        return []
    return [
        Finding(
            level="stop",
            what="furnace atmosphere",
            text=f"The programme asks for {asked.atmosphere}; {furnace.title} runs "
            f"{', '.join(furnace.atmospheres)}.",
            source=furnace.name,
            remedy="Choose a furnace built and licensed for this gas.",
        )
    ]


def _too_fast(asked: Segment, fit: Segment, furnace: Furnace) -> list[Finding]:
    if fit.rate >= asked.rate:
        return []
    return [
        Finding(
            level="look",
            what="furnace rate",
            text=f"The ramp to {into(asked.target, 'degC'):.0f} °C asks for "
            f"{into(asked.rate, 'K/min'):.3g} K/min; this furnace manages "
            f"{into(fit.rate, 'K/min'):.3g} K/min, which was used.",
            value=into(asked.rate, "K/min"),
            limit=into(fit.rate, "K/min"),
            unit="K/min",
            source=furnace.rate_most.source,
            remedy="Check density and time below; they hold for the slower ramp.",
        )
    ]


def _once(findings: list[Finding]) -> tuple[Finding, ...]:
    """One atmosphere may be asked for by many segments; say it once."""
    return tuple({finding.text: finding for finding in findings}.values())
