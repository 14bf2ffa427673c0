"""A gauge study from readings: the same sizes, read by several persons several times."""

from __future__ import annotations

import numpy as np

from sagger.errors import InputError
from sagger.goods.reading import Reading
from sagger.statistics import gauge

Size = tuple[str, str, str, str]


def study(readings: tuple[Reading, ...], instrument: str) -> tuple[gauge.Study, gauge.Study, tuple[int, ...]]:
    """By analysis of variance, by ranges, and how many persons, sizes and trials there were.

    Readings count that were taken with the instrument of sizes which every person read equally often; what
    differs from size to size is taken off their nominal, so that a study may hold several lengths.

    Raises
    ------
    InputError
        If fewer than two persons read two sizes twice.
    """
    by: dict[Size, dict[str, list[float]]] = {}
    for reading in readings:
        if reading.kind == "length" and reading.instrument == instrument and reading.person:
            size = (reading.box, reading.piece, reading.axis, reading.feature)
            value = (reading.value - (reading.nominal or 0.0)) * 1e3
            by.setdefault(size, {}).setdefault(reading.person, []).append(value)
    people = sorted({person for read in by.values() for person in read})
    trials = min(
        (len(read[p]) for read in by.values() if len(read) == len(people) for p in people), default=0
    )
    whole = [read for read in by.values() if len(read) == len(people)]
    if len(people) < 2 or len(whole) < 2 or trials < 2:
        raise InputError(
            "a gauge study needs two persons who read the same two sizes twice each at least",
            field="instrument",
            value=instrument,
            remedy="Enter the readings with person, piece, axis and feature.",
        )
    table = np.array([[read[person][:trials] for read in whole] for person in people])
    return gauge.crossed(table), gauge.by_ranges(table), table.shape
