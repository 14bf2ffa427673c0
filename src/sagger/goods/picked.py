"""Faces that somebody clicked on in a part's picture, and the lines of its drawing with their faces."""

from __future__ import annotations

from sagger.goods.good import good


@good
class PickedFace:
    """A face that was clicked on."""

    words: str
    stated: str  # as an order states it; "" where it cannot
    why: str  # why an order cannot state it; "" if it can
    runs: tuple[int, ...]  # of its triangles: first, how many, first, how many, …


@good
class Picked:
    """One face or two, and what may be asked of them."""

    faces: tuple[PickedFace, ...]
    questions: tuple[str, ...]  # in the words of the order's `what`


@good
class DrawnHere:
    """The lines of a drawing on a part, in their order."""

    rows: tuple[tuple[str, ...], ...]  # as `views.words.drawn.DrawnLine`
    facets: tuple[tuple[int, ...], ...]  # of each line's faces, as runs
