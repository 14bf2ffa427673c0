"""Lines of a drawing as rows behind the overall sizes: how far each goes where points of its faces move."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import numpy as np
from numpy import ndarray

from sagger.goods.drawn_feature import DrawnFeature
from sagger.goods.green import Green
from sagger.goods.stack import DropRaster, Stack
from sagger.stations.promise.source import DrawnLines, Room
from sagger.statistics.lines import EACH, RULES, AskedFeatures

SIZES = ("each", "least", "most")  # rules whose rows are sizes; the others start from nothing


class DrawnRows:
    """All rows of a part's drawing in one orientation. A size of several bonus features has a row of its own.

    Points and normals are in the machine's axes, lengths nominal [mm].
    """

    def __init__(self, green: Green, turn: int, stack: Stack | DropRaster):
        self.green, self.turn, self.stack = green, turn, stack
        self.asked = green.part.asked
        self.k = green.factors.k
        self._turned = np.asarray(green.part.turns[turn])
        self._weights = [_weights(one, self.asked) for one in self.asked]
        counts = [len(rows) for rows in self._weights]
        self._starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
        self.points = [one.points @ self._turned.T for one in self.asked]
        self.normals = [one.normals @ self._turned.T for one in self.asked]
        drawing = green.part.drawing
        flat = [face.number for face in drawing.faces if face.kind == "plane"] if drawing else []
        self.flat = [np.isin(one.faces, flat) for one in self.asked]
        self.bottom = float((green.part.shape.vertices @ self._turned.T)[:, 2].min())
        spans = [
            weights @ (normals * points)
            for weights, normals, points in zip(self._weights, self.normals, self.points, strict=True)
        ]
        self.spans = np.concatenate(spans) if spans else np.zeros((0, 3))
        pairs = zip(self.asked, self._weights, strict=True)
        nominal = [_nominal(one, len(weights)) for one, weights in pairs]
        self.nominal = np.concatenate(nominal) if nominal else np.zeros(0)

    def groups(self, before: int) -> Iterator[slice]:
        """Rows of each feature, where so many rows stand before them."""
        for first, end in zip(self._starts[:-1].tolist(), self._starts[1:].tolist(), strict=True):
            yield slice(before + first, before + end)

    def of(self, outward: Callable[[int], ndarray]) -> ndarray:
        """Value of each row where points of feature i move outward by outward(i), float64 (n,) or (n, k)."""
        found = [weights @ outward(i) for i, weights in enumerate(self._weights)]
        return np.concatenate(found) if found else np.zeros(0)

    def offset(self, by: Mapping[int, float]) -> ndarray:
        """Value of each row where whole faces move outward, by number of face [mm]."""
        if not by:
            return np.zeros(len(self.spans))
        numbers, far = np.array(list(by)), np.array(list(by.values()))
        return self.of(lambda i: ((self.asked[i].faces[:, None] == numbers) * far).sum(axis=1))

    def moved(self, by: Callable[[ndarray], ndarray]) -> ndarray:
        """Value of each row where points of the part's axes, float64 (n, 3), move by `by` of them."""
        return self.of(lambda i: np.einsum("nc,nc->n", self.asked[i].normals, by(self.asked[i].points)))


def lines(green: Green, room: Room) -> DrawnLines | None:
    """What is asked of the rows, overall sizes first; None where the drawing asks for nothing."""
    asked = green.part.asked
    if not asked:
        return None
    sizes = len(room.names)
    numbers = tuple(dict.fromkeys(one.line for one in asked))
    counts = np.array([len(_weights(one, asked)) for one in asked])
    after = sizes + np.cumsum(counts)
    bonus = np.array([one.bonus >= 0 for one in asked])
    own = [asked[one.bonus] if one.bonus >= 0 else None for one in asked]
    return DrawnLines(
        features=AskedFeatures(
            line=np.array([*range(sizes), *(sizes + numbers.index(one.line) for one in asked)]),
            rule=np.array([EACH] * sizes + [RULES.index(one.rule) for one in asked]),
            first=np.concatenate([np.arange(sizes), after - counts]),
            end=np.concatenate([np.arange(sizes) + 1, after - bonus]),
            lower=np.concatenate([room.lower, [one.lower for one in asked]]),
            upper=np.concatenate([room.upper, [one.upper for one in asked]]),
            bonus_row=np.concatenate([np.full(sizes, -1), np.where(bonus, after - 1, -1)]),
            bonus_sign=np.array([0.0] * sizes + [float(one.bonus_sign) for one in asked]),
            bonus_from=np.array([0.0] * sizes + list(map(_from, asked, own))),
            bonus_most=np.array([0.0] * sizes + [size.upper - size.lower if size else 0.0 for size in own]),
        ),
        numbers=numbers,
        gauged=np.array([1.0] * sizes + [float(one.unit == "mm") for one in asked]),
    )


def _from(one: DrawnFeature, size: DrawnFeature | None) -> float:
    """Deviation of the size at which there is no bonus yet [mm]."""
    if size is None:
        return 0.0
    return (size.lower if one.bonus_sign > 0 else size.upper) - size.nominal


def _weights(one: DrawnFeature, asked: tuple[DrawnFeature, ...]) -> ndarray:
    """Its rows, and as a last one the size whose material gives it more room, over its own points.

    The size is that of its feature by least squares: the mean of its rows, whose points are these first.
    """
    if one.bonus < 0:
        return one.weights
    size = asked[one.bonus].weights.mean(axis=0)
    return np.concatenate([one.weights, _over(one, asked[one.bonus], size)[None]])


def _over(one: DrawnFeature, of: DrawnFeature, size: ndarray) -> ndarray:
    """Weights of a size's points where they stand among the points of a place of the same feature."""
    at = {point.tobytes(): row for row, point in enumerate(one.points)}
    weights = np.zeros(len(one.points))
    for point, weight in zip(of.points, size, strict=True):
        weights[at[point.tobytes()]] += weight
    return weights


def _nominal(one: DrawnFeature, count: int) -> ndarray:
    return np.full(count, one.nominal if one.rule in SIZES else 0.0)
