"""Lines of a drawing judged by joint draws: each a set of linear forms with a rule, all met at once or not.

A row is a linear form of the sources of doubt: deviation = sum of draw times lever. What a line asks of a
feature is a rule over some rows: every one between limits, their range below a width, and so on. A line may
have several features (8 bores of one note); it is met where all of them are.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sagger.compiled import kernel
from sagger.errors import LawError
from sagger.statistics.joint import JointOutcome, drawn

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]
Columns = tuple[NDArray[Any], ...]  # of AskedFeatures
EACH, ZONE, RANGE, ROUND, LEAST, MOST = range(6)
BLOCK = 8  # rows of a feature between two looks whether it is missed already
RULES = ("each", "zone", "range", "round", "least", "most")


class AskedFeatures(NamedTuple):
    """Features of the lines, in order of their lines.

    `rule` of "each": every row lies from `lower` to `upper`; "zone": twice the largest magnitude is at most
    `upper`; "range": largest less smallest is; "round": twice the longest of pairs of rows is; "least" and
    "most": the smallest or largest row lies from `lower` to `upper`. Where `bonus_row` is not negative,
    `upper` grows by bonus_sign (row - bonus_from), from nothing to `bonus_most`.
    """

    line: Whole  # (f,): from 0; features of one line may stand anywhere
    rule: Whole  # (f,): index into RULES
    first: Whole  # (f,): its first row
    end: Whole  # (f,): after its last row
    lower: Array  # (f,)
    upper: Array  # (f,)
    bonus_row: Whole  # (f,)
    bonus_sign: Array  # (f,)
    bonus_from: Array  # (f,)
    bonus_most: Array  # (f,)


def judged_lines(
    shared: Array,
    own: Array,
    asked: AskedFeatures,
    read: Array,
    paired: int | None = None,
    chance_only: bool = False,
) -> JointOutcome:
    """How many pieces meet all lines, and which line spoils the others.

    Parameters
    ----------
    shared : array (m, r)
        Values of the rows in the middle of the doubts and by what pieces share, one for each of m draws.
    own : array (k, r)
        Deviations of the rows by what is a piece's own, one for each of k draws, the same for all m.
    asked : AskedFeatures
        Limits are those of the values; guard bands are taken off them before.
    read : array (k, f)
        How much more than is true each feature reads; zeros where truth is asked for.
    paired : int, optional
        Pieces for each draw of what is shared: the first takes the first so many, the next the next, and
        round again. None: all of them for each.
    chance_only : bool
        In less time, `each` and `alone` not counted: they are zeros.

    Returns
    -------
    JointOutcome
        `each` and `alone` are by line.

    Raises
    ------
    LawError
        If the shapes do not fit, or nothing was drawn.

    Source
    ------
    ISO 1101 and ISO 14405-1 for the rules, ISO 2692 for the bonus of maximum and least material (all from
    memory: defer to the standard, edition in force); JCGM 102:2011, 7 for joint draws.
    """
    shared, own = drawn(shared, own)
    read = np.ascontiguousarray(read, float)
    features = len(asked.line)
    rows = max(int(asked.end.max(initial=0)), int(asked.bonus_row.max(initial=-1)) + 1)
    if shared.shape[1] < rows or read.shape != (len(own), features):
        raise LawError(f"draws {shared.shape} and {own.shape} do not fit {features} features of {rows} rows")
    lines = int(asked.line.max(initial=-1)) + 1
    count = len(own) if paired is None else min(paired, len(own))
    good, inside, alone = _judge_lines(shared, own, (*asked,), read, (lines, count, chance_only))
    if chance_only:
        inside, alone = np.zeros(lines), np.zeros(lines)
    pairs = len(shared) * count
    return JointOutcome(good / count, inside / pairs, alone / pairs)


@kernel
def _judge_lines(
    shared: Array, own: Array, asked: Columns, read: Array, counts: tuple[int, int, bool]
) -> tuple[Array, Array, Array]:
    """Counts of good pieces by shared draw, and of each line met, and missed alone."""
    line, (lines, count, chance_only) = asked[0], counts
    good, inside, alone = np.zeros(shared.shape[0]), np.zeros(lines), np.zeros(lines)
    ends = _ends(own), _ends(read)
    missed = np.zeros(lines, np.int64)  # number of the piece that missed it last, from 1
    always, left = np.zeros(lines, np.bool_), np.zeros(line.size, np.int64)
    for row in range(shared.shape[0]):
        open_ones = left[: _told(shared[row], ends, asked, (always, left))]
        if chance_only and always.any():
            continue
        for turn in range(count):
            piece, number = (row * count + turn) % own.shape[0], row * count + turn + 1
            for at in range(open_ones.size):
                f = open_ones[at]
                i = line[f]
                if (
                    always[i]
                    or missed[i] == number
                    or _met(shared[row], own[piece], asked, f, read[piece, f])
                ):
                    continue
                missed[i] = number
                if chance_only:  # what was missed now is asked sooner of the next piece
                    open_ones[at], open_ones[at // 2] = open_ones[at // 2], f
                    break
            good[row] += _counted(missed == number, always, inside, alone)
    return good, inside, alone


@kernel
def _counted(missed: Flags, always: Flags, inside: Array, alone: Array) -> int:
    """1 for a good piece; lines that it met, and the one that it missed alone, are counted."""
    failed, which = 0, 0
    for i in range(missed.size):
        if missed[i] or always[i]:
            failed, which = failed + 1, i
        else:
            inside[i] += 1.0
    if failed == 1:
        alone[which] += 1.0
    return 1 if failed == 0 else 0


@kernel
def _told(shared: Array, ends: tuple[Array, Array], asked: Columns, out: tuple[Flags, Whole]) -> int:
    """Which lines every piece misses; which features depend on the piece, and how many these are."""
    always, left = out
    always[:] = False
    number = 0
    for f in range(asked[0].size):
        surely = _surely(shared, ends, asked, f)
        if surely < 0:
            always[asked[0][f]] = True
        elif surely == 0:
            left[number] = f
            number += 1
    return number


@kernel
def _ends(rows: Array) -> Array:
    """Smallest and largest of each column, (2, n)."""
    ends = np.empty((2, rows.shape[1]))
    for i in range(rows.shape[1]):
        ends[0, i], ends[1, i] = rows[:, i].min(), rows[:, i].max()
    return ends


@kernel
def _surely(shared: Array, ends: tuple[Array, Array], asked: Columns, f: int) -> int:
    """1 where every piece meets a feature whatever its own draw, -1 where none does, 0 where it depends."""
    _, rules, firsts, lasts, lower, upper, bonus_row, _, _, _ = asked
    own, read = ends
    rule, low, high, room = rules[f], np.inf, -np.inf, upper[f] - read[0, f]
    lowest = lower[f] - read[1, f]
    for i in range(firsts[f], lasts[f]):
        least, most = shared[i] + own[0, i], shared[i] + own[1, i]
        low, high = min(low, least), max(high, most)
        if bonus_row[f] < 0 and rule == 0 and (most < lowest or least > room):
            return -1
        if bonus_row[f] < 0 and rule == 1 and 2 * max(least, -most) > room:
            return -1
    room, lowest = upper[f] - read[1, f], lower[f] - read[0, f]
    if rule == 3:
        return 1 if 2 * 1.4142135623730951 * max(high, -low) <= room else 0
    return 1 if _inside(rule if rule < 3 else 0, low, high, lowest, room) else 0


@kernel
def _met(shared: Array, own: Array, asked: Columns, f: int, read: float) -> bool:
    """Whether one feature of one piece meets its line."""
    _, rules, firsts, lasts, lower, upper, bonus_row, bonus_sign, bonus_from, bonus_most = asked
    first, end, room = firsts[f], lasts[f], upper[f] - read
    if bonus_row[f] >= 0:
        size = shared[bonus_row[f]] + own[bonus_row[f]]
        room += min(max(bonus_sign[f] * (size - bonus_from[f]), 0.0), bonus_most[f])
    if rules[f] == 3:
        return _round(shared[first:end], own[first:end], room)
    low, high = np.inf, -np.inf
    for start in range(first, end, BLOCK):  # rows after one that misses need not be looked at
        for i in range(start, min(start + BLOCK, end)):
            value = shared[i] + own[i]
            low, high = min(low, value), max(high, value)
        if rules[f] < 3 and not _inside(rules[f], low, high, lower[f] - read, room):
            return False
    return _inside(rules[f], low, high, lower[f] - read, room)


@kernel
def _round(shared: Array, own: Array, room: float) -> bool:
    """Whether twice the longest of pairs of rows is at most the room."""
    far = 0.0
    for i in range(0, shared.size, 2):
        x, y = shared[i] + own[i], shared[i + 1] + own[i + 1]
        far = max(far, x * x + y * y)
    return room >= 0 and 4 * far <= room * room


@kernel
def _inside(rule: int, low: float, high: float, lower: float, room: float) -> bool:
    """Whether smallest and largest row meet a rule that is not of a round zone."""
    if rule == 0:
        return bool(lower <= low and high <= room)
    if rule == 1:
        return bool(2 * max(high, -low) <= room)
    if rule == 2:
        return bool(high - low <= room)
    return bool(lower <= (low if rule == 4 else high) <= room)
