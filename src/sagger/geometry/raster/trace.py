"""From a scene to the drops of one plane: cut, place, cross, wind.

A triangle's vertex is above a plane if its height is at or over it; each edge point is worked out from the
vertex below to the one above, so both neighbours get the same bits and sections close without matching.
Row r samples at (r + 1/2) drops, column c at (c + 1/2); a row or column is inside from one crossing, rounded
up, to the next. These half-open rules make shapes that touch tile without gap or overlap.
"""

from __future__ import annotations

import math

import numpy as np

from sagger.geometry.raster.kernel import inner, kernel


@inner
def crossed(z, triangles, t, plane):  # type: ignore[no-untyped-def]
    """Whether a plane cuts a triangle, and the vertices below and above it on the two edges it cuts.

    The edge on which the segment starts comes first. A triangle's first corner is its lowest.
    """
    i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
    second, third = z[j] >= plane, z[k] >= plane
    cuts = (z[i] < plane) and (second or third)
    return cuts, i if third else k, k if third else j, i if second else j, j if second else k


@inner
def _on_edge(xy, z, below, above, plane):  # type: ignore[no-untyped-def]
    share = (plane - z[below]) / (z[above] - z[below])
    x, y = xy[below, 0], xy[below, 1]
    return x + share * (xy[above, 0] - x), y + share * (xy[above, 1] - y)


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
    xy, z, triangles, listed = scene.xy, scene.z, scene.triangles, scene.listed  # not again for each triangle
    n = 0
    for g in range(scene.group_mesh.size):
        spans[g, 0] = n
        area = 0.0
        if scene.group_low[g] < plane <= scene.group_high[g]:
            first, last = listed_span(scene, g, plane)
            local = plane - scene.group_z[g]
            for q in range(first, last):
                cuts_it, a, b, c, d = crossed(z, triangles, listed[q], local)
                if cuts_it:
                    x0, y0 = _on_edge(xy, z, a, b, local)
                    x1, y1 = _on_edge(xy, z, c, d, local)
                    cuts[n, 0], cuts[n, 1], cuts[n, 2], cuts[n, 3] = x0, y0, x1, y1
                    area += 0.5 * (x0 * y1 - x1 * y0)
                    n += 1
        spans[g, 1] = n
        areas[g] = area
    return n


@kernel
def place(scene, plane, phase, cuts, spans, whole, segments, change):  # type: ignore[no-untyped-def]
    """Put every copy's section where it lies, in drops, and note where rows gain and lose crossings.

    Parameters
    ----------
    phase : tuple of 2 float
        Shift of the sampling points along x and y [drops].
    whole : bool
        Keep the segments that cross no row, too.
    segments : float64 (m, 4)
        Out: directed segments [drops].
    change : int32 (rows+1,)
        In zero, out: crossings gained (or lost) from one row to the next.
    """
    rows = change.size - 1
    n = 0
    for p in range(scene.piece_group.size):
        g = scene.piece_group[p]
        if spans[g, 0] == spans[g, 1]:
            continue
        m = scene.piece_map[p]
        z = (plane - scene.group_z[g]) * 1e-6
        left, low = m[2] * z + m[3] - phase[0], m[6] * z + m[7] - phase[1]
        for q in range(spans[g, 0], spans[g, 1]):
            xa, ya, xb, yb = cuts[q, 0], cuts[q, 1], cuts[q, 2], cuts[q, 3]
            y0 = m[4] * xa + m[5] * ya + low
            y1 = m[4] * xb + m[5] * yb + low
            a, b = math.ceil(y0 - 0.5), math.ceil(y1 - 0.5)
            if a == b and not whole:
                continue
            x0 = m[0] * xa + m[1] * ya + left
            x1 = m[0] * xb + m[1] * yb + left
            if scene.piece_mirrored[p]:
                x0, y0, x1, y1 = x1, y1, x0, y0
            first, last = max(min(a, b), 0), min(max(a, b), rows)
            if last > first or whole:
                if last > first:
                    change[first] += 1
                    change[last] -= 1
                segments[n, 0], segments[n, 1], segments[n, 2], segments[n, 3] = x0, y0, x1, y1
                n += 1
    return n


@kernel
def row_starts(change, start, cursor):  # type: ignore[no-untyped-def]
    """Row pointers of the crossings from the changes; returns how many crossings there are."""
    held, total = 0, 0
    for r in range(cursor.size):
        held += change[r]
        start[r] = total
        cursor[r] = total
        total += held
    start[cursor.size] = total
    return total


@kernel
def cross(segments, n, columns, cursor, keys):  # type: ignore[no-untyped-def]
    """Write each crossing as (column << 1) | downward into its row."""
    rows = cursor.size
    for i in range(n):
        x0, y0, x1, y1 = segments[i, 0], segments[i, 1], segments[i, 2], segments[i, 3]
        sign = 1
        if y0 > y1:
            x0, y0, x1, y1 = x1, y1, x0, y0
            sign = 0
        first, last = max(math.ceil(y0 - 0.5), 0), min(math.ceil(y1 - 0.5), rows)
        slope = (x1 - x0) / (y1 - y0)
        # From the near end, so that a segment almost along a row stays between its ends.
        for r in range(first, last):
            column = math.ceil(x0 + (r + 0.5 - y0) * slope - 0.5)
            column = min(max(column, 0), columns)
            at = cursor[r]
            cursor[r] = at + 1
            keys[at] = (column << 1) | sign


@inner
def _sort(keys, a, b):  # type: ignore[no-untyped-def]
    """Insertion sort: rows arrive nearly sorted because copies are placed from left to right.

    A row that is not (a lattice over the whole bed, say) is handed to the general sort before it gets slow.
    """
    moves, most = 0, 24 * (b - a)
    for i in range(a + 1, b):
        key = keys[i]
        j = i - 1
        while j >= a and keys[j] > key:
            keys[j + 1] = keys[j]
            j -= 1
        keys[j + 1] = key
        moves += i - j
        if moves > most:
            keys[a:b].sort()
            break


@kernel
def wind(start, keys, run_start, at):  # type: ignore[no-untyped-def]
    """Spans where the winding number is not zero.

    A row whose crossings do not cancel leaks; its last span is left out rather than drawn to the edge.
    Returns how many transitions were written, how many columns they cover, and how many rows leak.
    """
    n, covered, leaks = 0, 0, 0
    run_start[0] = 0
    for r in range(start.size - 1):
        a, b = start[r], start[r + 1]
        _sort(keys, a, b)
        winding, inside, i = 0, False, a
        while i < b:
            column = keys[i] >> 1
            while i < b and (keys[i] >> 1) == column:
                winding += 2 * (keys[i] & 1) - 1
                i += 1
            now = winding != 0
            if now != inside:
                at[n] = column
                n += 1
                covered += -column if now else column
                inside = now
        if inside:
            leaks += 1
            n -= 1
            covered += at[n]
        run_start[r + 1] = n
    return n, covered, leaks
