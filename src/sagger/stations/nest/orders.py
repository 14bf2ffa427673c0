"""In which order pieces are placed: by chance, big ones rather earlier; by due date if a box is too small."""

from __future__ import annotations

import numpy as np

from sagger.goods.green import Green


def by_chance(left: np.ndarray, sizes: np.ndarray, generator: np.random.Generator) -> np.ndarray:
    """The sequence `left` in random order; a part `sizes` times larger tends to come earlier."""
    luck = generator.gumbel(size=len(left))
    return left[np.argsort(-0.5 * np.log(sizes[left]) - 0.5 * luck, kind="stable")]


def by_due(sequence: np.ndarray, greens: tuple[Green, ...]) -> np.ndarray:
    """The same sequence with earlier due dates first; parts without a date come last."""
    due = np.array([green.part.request.due or "9999" for green in greens])
    return sequence[np.argsort(due[sequence], kind="stable")]
