"""A shop that does not exist, with a truth that is known: what its bed, lots and furnace do to a length.

Everything here is invented. It stands in for the printer, the furnace and the calliper in campaign.py, in the
benchmark and in tests that ask whether a known truth is found again.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from sagger.goods.reading import Reading

SHRUNK = np.array([0.8362, 0.8355, 0.8148])  # finished over drawn length, on average, along x, y, z
BOX_MM = np.array([400.0, 250.0, 250.0])
PLACES = ("front left", "front right", "back left", "back right")  # in the furnace
HOT = "back right"


@dataclasses.dataclass(frozen=True)
class Truth:
    """Standard deviations and shifts, relative to a length unless they say mm."""

    shrunk: np.ndarray = dataclasses.field(default_factory=lambda: SHRUNK)
    lot: float = 8e-4  # from lot to lot
    hot: float = -1.5e-3  # what the hot corner takes
    furnace: float = 3e-4  # from place to place else
    slope: tuple[float, float, float] = (0.018, -0.007, 0.0)  # green density, from wall to wall
    bow: float = 0.005  # green density, in the middle over the ends of x
    part: float = 4e-4  # from piece to piece
    wild: float = 0.0  # by place of the bed, without any smooth form
    creep_mm: float = 0.03  # binder beyond an outline, at each end of a length along x and y
    gauge_mm: float = 0.008  # of one reading

    def packed(self, at_mm: np.ndarray) -> np.ndarray:
        """Green density over its mean, at places (n, 3)."""
        share = np.asarray(at_mm, float) / BOX_MM - 0.5
        bowed = self.bow * (1 / 12 - share[:, 0] ** 2) * 4
        return np.asarray(1 + share @ np.array(self.slope) + bowed)


@dataclasses.dataclass
class Shop:
    """The truth, with the lots and furnace places it drew."""

    truth: Truth
    seed: int

    def __post_init__(self) -> None:
        self.random = np.random.default_rng(self.seed)
        self.lots: dict[str, float] = {}
        self.beds: dict[tuple[float, ...], float] = {}
        drawn = self.random.normal(0, self.truth.furnace, len(PLACES))
        self.places = dict(zip(PLACES, drawn.tolist(), strict=True))
        self.places[HOT] += self.truth.hot

    def lengths(
        self, axis: int, drawn_mm: np.ndarray, at_mm: np.ndarray, lot: str, place: str, crept_mm: float
    ) -> np.ndarray:
        """Finished lengths [mm] of one piece whose drawn lengths are these, before anyone measures them."""
        if lot not in self.lots:
            self.lots[lot] = float(self.random.normal(0, self.truth.lot))
        spot = tuple(np.round(at_mm, 3).tolist())
        if spot not in self.beds:
            self.beds[spot] = float(self.random.normal(0, self.truth.wild)) if self.truth.wild else 0.0
        own = self.random.normal(0, self.truth.part)
        dense = float(np.cbrt(self.truth.packed(np.atleast_2d(at_mm))[0]))
        ratio = (
            self.truth.shrunk[axis]
            * dense
            * (1 + self.lots[lot] + self.places[place] + own + self.beds[spot])
        )
        printed = np.asarray(drawn_mm, float) + (2 * crept_mm if axis < 2 else 0.0)
        return np.asarray(ratio * printed)

    def read(self, lengths_mm: np.ndarray) -> np.ndarray:
        """What a calliper says of them [mm]."""
        return np.asarray(lengths_mm + self.random.normal(0, self.truth.gauge_mm, np.shape(lengths_mm)))


def reading(axis: int, value_mm: float, nominal_mm: float, **facts: object) -> Reading:
    """A reading of a sintered length."""
    return Reading(
        kind="length",
        state="sintered",
        value=value_mm * 1e-3,
        nominal=nominal_mm * 1e-3,
        axis="xyz"[axis],
        unit="mm",
        **facts,  # type: ignore[arg-type]
    )


def coupons(
    shop: Shop,
    boxes: Sequence[str],
    lots: Sequence[str],
    places_mm: np.ndarray,
    k: np.ndarray,
    sizes_mm: Sequence[float] = (12.0, 20.0, 28.0),
    crept_mm: float | None = None,
) -> tuple[tuple[Reading, ...], np.ndarray]:
    """Readings of step coupons at places of several boxes, each piece at a furnace place of its own.

    Returns
    -------
    tuple of Reading, float64 (n,)
        And the drawn length of each [mm].
    """
    creep = shop.truth.creep_mm if crept_mm is None else crept_mm
    found, drawn = [], []
    for number, (box, lot) in enumerate(zip(boxes, lots, strict=True)):
        for spot, at in enumerate(places_mm):
            place = PLACES[(spot + number) % len(PLACES)]
            facts = {
                "box": box,
                "piece": f"steps 1-{spot + 1:02d}",
                "lot": lot,
                "place": place,
                "coupon": True,
            }
            for axis in range(3):
                printed = np.array(sizes_mm) * k[axis]
                values = shop.read(shop.lengths(axis, printed, at, lot, place, creep))
                at_mm = tuple(float(each) for each in at)
                for size, length, value in zip(sizes_mm, printed.tolist(), values.tolist(), strict=True):
                    feature = f"step {size:g}"
                    found.append(
                        reading(axis, value, size, u=8e-6, at_mm=at_mm, feature=feature, load=box, **facts)
                    )
                    drawn.append(length)
    return tuple(found), np.array(drawn)


def nine_places() -> np.ndarray:
    """Middles of coupons at the nine places of the invented box [mm]."""
    return np.array([(x, y, 20.0) for y in (25.0, 125.0, 225.0) for x in (25.0, 200.0, 375.0)])
