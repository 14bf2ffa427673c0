"""A scan of a piece against the shape it should have: size along each axis, and a field of deviations."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.geometry.surface import laying
from sagger.geometry.tree import bvh
from sagger.goods.reading import Instrument
from sagger.goods.scanned import Scanned
from sagger.goods.shape import Shape
from sagger.tick import Tick, silent

POINTS = 6000  # places at which the scan is compared
FAR = 5.0  # root mean squares of the rest, beyond which a place belongs to nothing


def lay(
    scan: Shape, asked: Shape, scanner: Instrument, *, as_filed: bool = False, tick: Tick = silent
) -> Scanned:
    """The scan laid on the shape.

    Parameters
    ----------
    scan, asked : Shape
        Scanned surface, closed or not; shape in the axes and the size that the piece should have [mm].
    scanner : Instrument
        `u` of one point [m].
    as_filed : bool
        The scan is turned as the shape is, but for a few degrees.

    Returns
    -------
    Scanned
        Deviations after turning and moving alone; sizes with a scale along each axis.

    Raises
    ------
    InputError
        If the scan is empty, fits nowhere, or fits in ways that swap axes.
    """
    if not len(scan.triangles):
        raise InputError("the scan holds no surface", field="scan")
    on = laying.ground(asked)
    points, _ = laying.sampled(scan, POINTS, seed=2)
    tick.say("trying turns")
    start, sure = laying.started(points, on, as_filed=as_filed)
    _refuse(start, sure or as_filed, asked)
    tick.say("laying the scan")
    rigid = laying.followed(points, on, start)
    scaled = laying.followed(points, on, rigid, scaled=True)
    sizes = laying.spread(points, on, scaled, scaled=True)
    laid = rigid.put(points)
    return Scanned(
        turn=rigid.turn,
        shift_mm=rigid.shift,
        points_mm=laid,
        deviation_mm=_signed(laid, on, asked),
        u_mm=_doubt(laid, on, laying.spread(points, on, rigid, scaled=False), rigid.shift, scanner),
        scale=scaled.scale,
        scale_u=np.sqrt(np.diag(sizes)[6:]),
        left_out=float((np.abs(laying.apart(points, on, scaled)) > FAR * scaled.left).mean()),
    )


def _refuse(start: laying.LaidScan, sure: bool, asked: Shape) -> None:
    size = float(np.ptp(asked.vertices, axis=0).max())
    if start.left > 0.05 * size:
        what = f"the scan lies {start.left:.2f} mm off the part at best: is it another part, or another unit?"
        raise InputError(what, field="scan", remedy="Say the unit of the scan, or the piece that it is of.")
    if not sure:
        remedy = "Turn the scan as the piece lay in the box and say --as-filed."
        raise InputError("the scan fits in ways that swap axes", field="scan", remedy=remedy)


def _signed(points: ndarray, on: laying.Ground, asked: Shape) -> ndarray:
    """Distance to the surface, above 0 outside."""
    near = on.nearest.query(points)[1]
    side = ((points - on.points[near]) * on.normals[near]).sum(axis=1)
    return np.asarray(np.where(side < 0, -1.0, 1.0) * bvh.nearest(bvh.tree(asked), points))


def _doubt(
    points: ndarray, on: laying.Ground, covariance: ndarray, shift: ndarray, scanner: Instrument
) -> ndarray:
    """Of one point of the scanner, and of how the whole was laid (JCGM 100, 5.1.2)."""
    normals = on.normals[on.nearest.query(points)[1]]
    rows = np.concatenate([np.cross(points - shift, normals), normals], axis=1)
    laid = np.einsum("ni,ij,nj->n", rows, covariance, rows)
    return np.asarray(np.sqrt((scanner.u * 1e3) ** 2 + laid))
