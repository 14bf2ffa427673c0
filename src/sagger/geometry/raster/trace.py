"""From a scene to the drops of one plane: cut, place, cross, wind.

A triangle's vertex is above a plane if its height is at or over it; each edge point is worked out from the
vertex below to the one above, so both neighbours get the same bits and sections close without matching.
Row r samples at (r + 1/2) drops, column c at (c + 1/2); a row or column is inside from one crossing, rounded
up, to the next. These half-open rules make shapes that touch tile without gap or overlap.
"""

from __future__ import annotations

import math

import numpy as np

from sagger.compiled import inner, kernel
from sagger.geometry.raster.lanes import LANES, LAST, ONE, SHIFT, ZERO, in_order, place_of

_TWO = np.int32(2)


@inner
def crossed(points, triangles, t, plane):  # type: ignore[no-untyped-def]
    """Whether a plane cuts a triangle, and the vertices below and above it on the two edges it cuts.

    The edge on which the segment starts comes first. A triangle's first corner is its lowest.
    """
    # Unsigned and without a branch: whether a triangle is cut is anybody's guess.
    i, j, k = np.uint64(triangles[t, 0]), np.uint64(triangles[t, 1]), np.uint64(triangles[t, 2])
    second, third = points[j, 2] >= plane, points[k, 2] >= plane
    cuts = (points[i, 2] < plane) & (second | third)
    return cuts, i if third else k, k if third else j, i if second else j, j if second else k


@inner
def _on_edge(points, below, above, plane):  # type: ignore[no-untyped-def]
    x, y, z = points[below, 0], points[below, 1], points[below, 2]
    share = (plane - z) / (points[above, 2] - z)
    return x + share * (points[above, 0] - x), y + share * (points[above, 1] - y)


@kernel
def room(scene, plane):  # type: ignore[no-untyped-def]
    """Most segments the cuts of a plane can have, and most with all copies placed."""
    most = np.zeros(scene.group_mesh.size, np.int64)
    for g in range(most.size):
        if scene.group_low[g] < plane <= scene.group_high[g]:
            first, last = listed_span(scene, g, plane)
            most[g] = last - first
    placed = 0
    for p in range(scene.piece_group.size):
        placed += most[scene.piece_group[p]]
    return most.sum(), placed


@kernel
def listed_span(scene, g, plane):  # type: ignore[no-untyped-def]
    """First entry of `listed` for a group that the plane meets, and one past its last."""
    mesh = scene.group_mesh[g]
    slab = scene.slab_first[mesh] + (plane - scene.group_z[g] - scene.floor[mesh]) // scene.slab
    return scene.slab_start[slab], scene.slab_start[slab + 1]


@kernel
def cut(scene, plane, cuts, spans, areas):  # type: ignore[no-untyped-def]
    """Cut each group once.

    Parameters
    ----------
    cuts : float64 (m, 4)
        Out: directed segments x0 y0 x1 y1 with the solid on their left [mm in the mesh's frame].
    spans : int64 (groups, 2)
        Out: first segment of each group and one past its last.
    areas : float64 (groups,)
        Out: signed area of each group's section [mm2].
    """
    points, triangles, listed = scene.points, scene.triangles, scene.listed  # not again for each triangle
    n = ZERO
    for g in range(scene.group_mesh.size):
        spans[g, 0] = n
        area = 0.0
        if scene.group_low[g] < plane <= scene.group_high[g]:
            first, last = listed_span(scene, g, plane)
            local = float(plane - scene.group_z[g])
            for q in range(np.uint64(first), np.uint64(last)):
                cuts_it, a, b, c, d = crossed(points, triangles, np.uint64(listed[q]), local)
                x0, y0 = _on_edge(points, a, b, local)
                x1, y1 = _on_edge(points, c, d, local)
                cuts[n, 0], cuts[n, 1], cuts[n, 2], cuts[n, 3] = x0, y0, x1, y1
                area += 0.5 * (x0 * y1 - x1 * y0) if cuts_it else 0.0
                n += np.uint64(cuts_it)  # else the next one takes its place
        spans[g, 1] = n
        areas[g] = area
    return n


@inner
def _moved(m, z, phase):  # type: ignore[no-untyped-def]
    """Map of a copy's section to drops: x = m0 x + m1 y + left, y likewise."""
    return m[0], m[1], m[2] * z + m[3] - phase[0], m[4], m[5], m[6] * z + m[7] - phase[1]


@kernel
def place(scene, plane, phase, cuts, spans, segments):  # type: ignore[no-untyped-def]
    """Put every copy's section where it lies, in drops.

    Parameters
    ----------
    phase : tuple of 2 float
        Shift of the sampling points along x and y [drops].
    segments : float64 (m, 4)
        Out: directed segments [drops].
    """
    n = ZERO
    for p in range(scene.piece_group.size):
        g = scene.piece_group[p]
        z = (plane - scene.group_z[g]) * 1e-6
        xx, xy, left, yx, yy, low = _moved(scene.piece_map[p], z, phase)
        start, end = (2, 0) if scene.piece_mirrored[p] else (0, 2)
        for q in range(np.uint64(spans[g, 0]), np.uint64(spans[g, 1])):
            xa, ya, xb, yb = cuts[q, 0], cuts[q, 1], cuts[q, 2], cuts[q, 3]
            segments[n, start], segments[n, start + 1] = xx * xa + xy * ya + left, yx * xa + yy * ya + low
            segments[n, end], segments[n, end + 1] = xx * xb + xy * yb + left, yx * xb + yy * yb + low
            n += ONE
    return n


@inner
def _edge(ends, mirrored, out, n):  # type: ignore[no-untyped-def]
    """Note where a segment crosses rows; returns how many edges there are then."""
    x0, y0, x1, y1 = ends
    lines, extent, change = out
    rows = change.size - 1
    down = y0 > y1
    x, y = x1 if down else x0, y1 if down else y0
    high = y0 if down else y1
    first = np.int32(min(max(math.ceil(y - 0.5), 0), rows))
    last = np.int32(max(min(math.ceil(high - 0.5), rows), 0))
    lines[n, 0], lines[n, 1], lines[n, 2] = x, y, ((x0 if down else x1) - x) / (high - y)
    extent[n, 0], extent[n, 1] = first, (last << 1) | np.int32(down == mirrored)
    change[np.uint64(first)] += 1
    change[np.uint64(last)] -= 1
    return n + np.uint64(last > first)  # else the next one takes its place


@kernel
def place_edges(scene, plane, phase, cuts, spans, out):  # type: ignore[no-untyped-def]
    """As `place`, but only what crosses the middle of a row, made ready for `cross`.

    Parameters
    ----------
    out : float64 (m, 3), int32 (m, 2), int32 (rows+1,)
        Out: x and y of each edge's lower end, and its slope x over y [drops]; first row crossed, (one past
        the last << 1) | upward; in zero, out: crossings gained (or lost) from one row to the next.
    """
    n = ZERO
    for p in range(scene.piece_group.size):
        g = scene.piece_group[p]
        mirrored = scene.piece_mirrored[p]
        z = (plane - scene.group_z[g]) * 1e-6
        xx, xy, left, yx, yy, low = _moved(scene.piece_map[p], z, phase)
        for q in range(np.uint64(spans[g, 0]), np.uint64(spans[g, 1])):
            xa, ya, xb, yb = cuts[q, 0], cuts[q, 1], cuts[q, 2], cuts[q, 3]
            x0, y0 = xx * xa + xy * ya + left, yx * xa + yy * ya + low
            x1, y1 = xx * xb + xy * yb + left, yx * xb + yy * yb + low
            n = _edge((x0, y0, x1, y1), mirrored, out, n)
    return n


@kernel
def edges(segments, used, out):  # type: ignore[no-untyped-def]
    """What `place_edges` gives, from segments that `place` gave."""
    n = ZERO
    for q in range(np.uint64(used)):
        x0, y0, x1, y1 = segments[q, 0], segments[q, 1], segments[q, 2], segments[q, 3]
        n = _edge((x0, y0, x1, y1), False, out, n)
    return n


@kernel
def cross(lines, extent, n, columns, slots):  # type: ignore[no-untyped-def]
    """Write each crossing as (column << 2) | upward into a slot of its row; bit 1 is left for others."""
    first, count, keys = slots
    for i in range(np.uint64(n)):
        x, y, slope = lines[i, 0], lines[i, 1], lines[i, 2]
        sign = extent[i, 1] & 1
        for r in range(np.uint32(extent[i, 0]), np.uint32(extent[i, 1] >> 1)):
            # From the near end, so that a segment almost along a row stays between its ends.
            column = np.int32(math.ceil(x + (r + 0.5 - y) * slope - 0.5))
            slot = count[r]
            count[r] = slot + 1
            keys[place_of(first, np.uint64(r), slot)] = (min(max(column, 0), columns) << 2) | sign


@kernel
def wind(first, count, keys, run_start, at):  # type: ignore[no-untyped-def]
    """Spans where the winding number is not zero.

    A row whose crossings do not cancel leaks; its last span is left out rather than drawn to the edge.
    Returns how many transitions were written and how many rows leak.
    """
    n, leaks = ZERO, 0
    mixed = np.empty(LANES, np.int32)
    run_start[0] = 0
    for block in range(first.size - 1):
        begin, slots = in_order(first, count, block, keys, LAST)
        _plain(keys, begin, slots, mixed)
        for lane in range(LANES):
            r = (np.uint64(block) << SHIFT) | lane
            if r >= np.uint64(count.size):
                break
            held = np.uint64(count[r])
            if (np.uint64(mixed[lane]) | held) & ONE == ZERO:
                for s in range(held):
                    at[n + s] = keys[begin + (s << SHIFT) + lane] >> 2
                n += held
            else:
                n, leak = _wind_row(keys, begin + lane, held, at, n)
                leaks += leak
            run_start[r + ONE] = n
    return n, leaks


@inner
def _plain(keys, begin, slots, mixed):  # type: ignore[no-untyped-def]
    """Set `mixed` to zero for rows whose crossings go up and down in turn, each in a column of its own."""
    mixed[:] = 0
    for s in range(ONE, slots):
        after = begin + (s << SHIFT)
        for lane in range(LANES):
            x, y = keys[after - LANES + lane], keys[after + lane]
            apart = np.int32(y >> _TWO > x >> _TWO) & (x ^ y)
            mixed[lane] |= ~apart & np.int32(y != LAST)


@kernel
def _wind_row(keys, begin, held, at, n):  # type: ignore[no-untyped-def]
    """Spans of one row; returns how many transitions there are then, and whether the row leaks."""
    winding, inside, s = 0, False, ZERO
    while s < held:
        column = keys[begin + (s << SHIFT)] >> 2
        while s < held and keys[begin + (s << SHIFT)] >> 2 == column:
            winding += 2 * (keys[begin + (s << SHIFT)] & 1) - 1
            s += ONE
        if (winding != 0) != inside:
            at[n] = column
            n += ONE
            inside = not inside
    return (n - ONE, 1) if inside else (n, 0)
