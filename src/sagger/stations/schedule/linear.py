"""Rows of a mixed-integer programme, gathered one by one, and their best answer with a true bound."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy import ndarray

Terms = Iterable[tuple[float, int]]  # factor and column


class LeastCost(NamedTuple):
    """What was found, and what none can undercut."""

    bound: float
    value: float  # inf if nothing was found
    exact: bool
    at: ndarray  # of the columns; empty if nothing was found


class MixedProgramme:
    """Columns between bounds, rows with an upper limit, and a cost to be least."""

    def __init__(self) -> None:
        self._most: list[float] = []
        self._least: list[float] = []
        self._cost: list[float] = []
        self._whole: list[bool] = []
        self._entries: list[tuple[list[float], list[int]]] = []
        self._low: list[float] = []
        self._high: list[float] = []

    def column(self, most: float = 1, cost: float = 0, least: float = 0, *, whole: bool = True) -> int:
        """Number of a new column."""
        self._most.append(most)
        self._least.append(least)
        self._cost.append(cost)
        self._whole.append(whole)
        return len(self._cost) - 1

    def add_cost(self, column: int, cost: float) -> None:
        """A column costs more."""
        self._cost[column] += cost

    def row(self, terms: Terms, high: float, low: float = -math.inf) -> None:
        """The sum of terms lies between two limits."""
        pairs = list(terms)
        self._entries.append(([factor for factor, _ in pairs], [column for _, column in pairs]))
        self._low.append(low)
        self._high.append(high)

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        return len(self._cost), len(self._high)

    def least(self, nodes: int, gap: float = 0.0, seconds: float = math.inf) -> LeastCost:
        """The least cost within so many nodes of the search.

        Counted in nodes so that the same programme gives the same bound; `seconds` is a last resort.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        factors = np.concatenate([np.array(row, float) for row, _ in self._entries])
        columns = np.concatenate([np.array(row, np.int64) for _, row in self._entries])
        ends = np.cumsum([0] + [len(row) for row, _ in self._entries])
        table = csr_array((factors, columns, ends), shape=(len(self._high), len(self._cost)))
        options = {"node_limit": nodes, "mip_rel_gap": gap}
        if math.isfinite(seconds):
            options["time_limit"] = seconds
        optimum = milp(
            np.array(self._cost),
            integrality=np.array(self._whole, int),
            bounds=Bounds(np.array(self._least), np.array(self._most)),
            constraints=LinearConstraint(table, np.array(self._low), np.array(self._high)),
            options=options,
        )
        there = optimum.x is not None
        bound = optimum.mip_dual_bound if optimum.mip_dual_bound is not None else 0.0
        return LeastCost(
            bound=float(bound) if math.isfinite(bound) else 0.0,
            value=float(optimum.fun) if there else math.inf,
            exact=optimum.status == 0,
            at=np.asarray(optimum.x) if there else np.zeros(0),
        )
