"""What can be promised: chances of sizes, of a whole piece, and of enough good pieces of those started."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds


@good
class Promise:
    """One dimension: what is asked, and the chance that it is met."""

    part: int = holds("index into `parts`")
    dimension: str = holds("overall size along an axis x, y, z of the part as it was filed and turned")
    nominal_mm: float = holds("asked", "mm")
    lower_mm: float = holds("least that is allowed", "mm")
    upper_mm: float = holds("most that is allowed", "mm")
    u_mm: float = holds("standard uncertainty of the finished size", "mm")
    shares: tuple[tuple[str, float], ...] = holds("parts of the variance", "share")
    chance: float = holds("that it is met", "share")
    without: tuple[tuple[str, float], ...] = holds(
        "chance if one source were gone, or the mean on nominal; best first", "share", default=()
    )
    expected_mm: float = holds("finished size, in the middle of its doubts", "mm")
    passed: float = holds("chance to pass at the shop's own bench, guard band and gauge counted", "share")
    alone: float = holds("pieces of which nothing but this dimension is outside", "share")


@good
class LinePromise:
    """One line of the drawing: what is asked of all its features, and the chance that they meet it."""

    part: int = holds("index into `parts`")
    line: int = holds("number in the drawing: dimensions, then geometric tolerances, from 1")
    what: str = holds("kind of dimension or tolerance, with its name if it has one")
    features: int = holds("faces, bores or pairs of faces that it is of")
    unit: str = holds("of the values below", one_of=("mm", "deg"))
    nominal: float | None = holds("as drawn, in its unit; null for form and place")
    lower: float = holds("least that is allowed, in its unit")
    upper: float = holds("most that is allowed, in its unit")
    expected: float = holds("value of its worst feature in the middle of all doubts, in its unit")
    u: float = holds(
        "standard uncertainty of the value, in its unit; of a zone, of the point that moves most"
    )
    shares: tuple[tuple[str, float], ...] = holds("parts of that variance, largest first", "share")
    operator: str = holds("how the value is taken")
    chance: float = holds("that all its features meet it", "share")
    passed: float = holds("chance to pass at the shop's own bench, guard band and gauge counted", "share")
    alone: float = holds("pieces of which nothing but this line is missed", "share")
    stock_mm: float | None = holds(
        "stock to be cut off after sintering that is enough for 99 of 100 pieces; null: not needed, or not "
        "to be cut",
        "mm",
    )


@good
class Gain:
    """What a change would make of the chance of a piece, by the same draws."""

    name: str = holds("of the change")
    chance: float = holds("that a whole piece is met then", "share")
    least: int | None = holds("pieces to start then; None if no number is enough")
    stock_mm: float | None = holds(
        "to leave on a face that is cut instead, so that the cut takes hold all over", "mm", default=None
    )


@good
class PiecePromise:
    """One part: the chance of a whole piece, and of enough of them."""

    part: int = holds("index into `parts`")
    asked: int = holds("good pieces asked for")
    started: int = holds("pieces printed")
    sure: float = holds("chance asked for, to have as many good pieces as asked", "share")
    chance: float = holds("that every size and every line of the drawing is met at once", "share")
    chance_u: float = holds("standard error of that chance by the number of draws", "share")
    passed: float = holds("chance that every size passes at the shop's own bench", "share")
    slipped: float = holds("of the pieces that pass there, those of which a size is outside", "share")
    low: float = holds("chance in a bad lot: one in twenty is worse", "share")
    high: float = holds("chance in a good lot: one in twenty is better", "share")
    survival: float = holds("of pieces that come to the bench at all, by the yields of the shop", "share")
    expected: float = holds("good pieces of those started, on average")
    delivered: float = holds("good pieces up to the number asked for, on average")
    enough: float = holds("chance that those started hold as many good ones as asked", "share")
    enough_twice: float = holds("chance of as many once those missing were started a second time", "share")
    least: int | None = holds("pieces to start for the chance asked; None if no number is enough")
    ceiling: float = holds("chance of enough that no number of starts passes", "share")
    raised: tuple[Gain, ...] = holds("what would raise the chance, the most first")
    # float64 (draws, loads): of a started piece to be good at the bench, by draw of what pieces share
    chances: ndarray


@good
class Promised:
    """What is promised of an order as a whole; every chance is of one set of draws."""

    sure: float = holds("chance with which the order shall be kept, as asked", "share")
    kept: float = holds("chance that every part has as many good pieces as asked", "share")
    kept_twice: float = holds(
        "chance of that once those missing were started a second time, with the same factors", "share"
    )
    loads: int = holds("into which pieces are spread, each with a draw of its own")
    draws: int = holds("of what pieces share")
    pieces_drawn: int = holds("pieces drawn in each of them")
    sizes: tuple[Promise, ...]
    lines: tuple[LinePromise, ...] = holds("of the drawings, by part and line", default=())
    pieces: tuple[PiecePromise, ...] = holds("by part")
    findings: tuple[Finding, ...]
