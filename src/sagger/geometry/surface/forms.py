"""Sizes, distances, angles, form and place as linear forms of how far points of faces move [mm].

A point X of a face with outward normal N moves by d(X); what counts is w = N . d. Each row of `weights` gives
one linear combination of w. Nothing here knows why points move.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

RCOND = 1e-9
LOOSE = 0.02  # of the best held motion: one held less is free (a short face does not hold a turn)


class Sampled(NamedTuple):
    """Points of one face."""

    points: ndarray  # float64 (n, 3) [mm]
    normals: ndarray  # float64 (n, 3), outward
    areas: ndarray  # float64 (n,): share of the face that each stands for
    faces: ndarray  # int64 (n,): number of the face that each lies on


class LinearForm(NamedTuple):
    """Linear forms over points of one or more faces."""

    points: ndarray  # float64 (n, 3)
    normals: ndarray  # float64 (n, 3)
    weights: ndarray  # float64 (rows, n)
    faces: ndarray  # int64 (n,): number of the face that each point lies on

    def of(self, moved: ndarray) -> ndarray:
        """Value of each row where points move by `moved`, float64 (n, 3) or (n, 3, k)."""
        return np.asarray(self.weights @ np.einsum("nc,nc...->n...", self.normals, moved))


class Cylinder(NamedTuple):
    """What a bore or pin does, each a form over the same points."""

    diameter: LinearForm  # one row: of the least-squares cylinder
    local: LinearForm  # distances of opposite points; no rows where there are none
    ends: LinearForm  # four rows: axis at one end across x and y, then at the other
    radial: LinearForm  # distance of each point from the least-squares cylinder, outward from the axis
    middle: tuple[ndarray, ndarray]  # float64 (3,): places on the axis of the two ends
    across: ndarray  # float64 (2, 3): the directions x and y


def cylinder(faces: Sampled, at: ndarray, along: ndarray) -> Cylinder:
    """Forms of a cylinder through points.

    Parameters
    ----------
    faces : Sampled
        Of all its faces together.
    at, along : array (3,)
        Its axis [mm] and unit direction.

    Source
    ------
    Least squares of r = R + x cos + y sin + h (a cos + b sin), linear in the radial deviations.
    """
    x, y = _frame(along)
    q = faces.points - at
    h, angle = q @ along, np.arctan2(q @ y, q @ x)
    inward = np.sign(float((faces.normals * (q - np.outer(h, along))).sum()))  # -1 for a bore
    middle = float(h.min() + h.max()) / 2
    cos, sin, z = np.cos(angle), np.sin(angle), h - middle
    solved = np.linalg.pinv(np.stack([np.ones(len(h)), cos, sin, z * cos, z * sin], axis=1), rcond=RCOND)
    basis = np.stack([np.ones(len(h)), cos, sin, z * cos, z * sin], axis=1)
    half = float(h.max() - h.min()) / 2
    ends = np.stack([solved[1] - half * solved[3], solved[2] - half * solved[4],
                     solved[1] + half * solved[3], solved[2] + half * solved[4]])  # fmt: skip

    def linear(weights: ndarray) -> LinearForm:
        return LinearForm(faces.points, faces.normals, inward * weights, faces.faces)

    return Cylinder(
        diameter=linear(2 * solved[:1]),
        local=linear(_opposite(angle, h)),
        ends=linear(ends),
        radial=linear(np.eye(len(h)) - basis @ solved),
        middle=(at + along * (middle - half), at + along * (middle + half)),
        across=np.stack([x, y]),
    )


def bare(face: Sampled) -> LinearForm:
    """One row for each point: how far it moves outward."""
    return LinearForm(face.points, face.normals, np.eye(len(face.points)), face.faces)


def shifted(face: Sampled) -> LinearForm:
    """One row: how far a flat face moves outward, weighed by area."""
    weights = face.areas / face.areas.sum()
    return LinearForm(face.points, face.normals, weights[None], face.faces)


def bent(face: Sampled) -> LinearForm:
    """Distance of each point from the plane of least squares through the moved points."""
    rows = _tilts(face)
    weights = np.eye(len(rows)) - rows @ np.linalg.pinv(rows, rcond=RCOND)
    return LinearForm(face.points, face.normals, weights, face.faces)


def tilted(face: Sampled) -> tuple[LinearForm, ndarray]:
    """Two rows: turn of a flat face about two directions in it [rad]; and these directions, float64 (2, 3).

    Its normal turns by minus the slope of w.
    """
    solved = np.linalg.pinv(_tilts(face), rcond=RCOND)
    normal = face.normals.mean(axis=0)
    form = LinearForm(face.points, face.normals, solved[1:], face.faces)
    return form, np.stack(_frame(normal / np.linalg.norm(normal)))


def joined(forms: list[tuple[float, LinearForm]]) -> LinearForm:
    """The weighted sum of forms of as many rows each, over all their points."""
    return LinearForm(
        np.concatenate([linear.points for _, linear in forms]),
        np.concatenate([linear.normals for _, linear in forms]),
        np.concatenate([factor * linear.weights for factor, linear in forms], axis=1),
        np.concatenate([linear.faces for _, linear in forms]),
    )


def angle_between(one: Sampled, other: Sampled) -> LinearForm:
    """One row: how far the angle between the normals of two flat faces opens [rad]."""
    (first, ways), (second, others) = tilted(one), tilted(other)
    n, m = (_mean(face.normals) for face in (one, other))
    sine = max(float(np.linalg.norm(np.cross(n, m))), 1e-9)
    # cos = n . m; d n = -(slope along each way) way
    rows = [(ways @ m) @ first.weights / sine, (others @ n) @ second.weights / sine]
    return LinearForm(
        np.concatenate([one.points, other.points]),
        np.concatenate([one.normals, other.normals]),
        np.concatenate(rows)[None],
        np.concatenate([one.faces, other.faces]),
    )


class DatumFrame(NamedTuple):  # of no letter: all six motions are free
    """How datum faces carry the part: a rigid motion as linear forms, and motions that they leave free."""

    motion: LinearForm  # six rows: shift and turn
    free: ndarray  # float64 (6, f)


def frame(datums: list[list[tuple[ndarray, LinearForm]]]) -> DatumFrame:
    """The motion that brings real datum faces onto nominal ones, each letter taking what is still free.

    Parameters
    ----------
    datums : list
        By letter; of each the rows of its faces: how a rigid motion moves it, float64 (r, 6), and the form
        with as many rows that the real face moves by.

    Source
    ------
    ISO 5459 (primary, secondary, tertiary), with least squares for the contact that the standard asks for.
    """
    faces = [face for letter in datums for face in letter]
    points = np.concatenate([linear.points for _, linear in faces])
    starts = np.cumsum([0, *(linear.weights.shape[1] for _, linear in faces)])
    reach = max(1.0, *(float(np.abs(rigid[:, 3:]).max(initial=0.0)) for rigid, _ in faces))
    scale = np.array([1.0, 1.0, 1.0, *[1 / reach] * 3])  # shifts and turns of like size
    motion, free, number = np.zeros((6, len(points))), np.eye(6), 0
    for letter in datums:
        rigid = np.concatenate([rows for rows, _ in letter]) * scale
        real = np.zeros((len(rigid), len(points)))
        row = 0
        for rows, linear in letter:
            real[row : row + len(rows), starts[number] : starts[number + 1]] = linear.weights
            row, number = row + len(rows), number + 1
        if free.shape[1]:
            held, free_then = _held(rigid, free)
            motion = motion + held @ (real - rigid @ motion)
            free = free_then
    normals = np.concatenate([linear.normals for _, linear in faces])
    numbers = np.concatenate([linear.faces for _, linear in faces])
    return DatumFrame(LinearForm(points, normals, scale[:, None] * motion, numbers), scale[:, None] * free)


def rigid_rows(points: ndarray, directions: ndarray) -> ndarray:
    """How far points go along directions under shift and turn, float64 (n, 6)."""
    return np.concatenate([directions, np.cross(points, directions)], axis=1)


def seen_from(linear: LinearForm, rigid: ndarray, carried: DatumFrame) -> LinearForm:
    """A form as it is seen from datums: less their motion, best fitted over the motions they leave free.

    `rigid`, float64 (rows, 6), is how a rigid motion moves each row.
    """
    less = -rigid @ carried.motion.weights
    weights = np.concatenate([linear.weights, less], axis=1)
    loose = rigid @ carried.free
    if loose.shape[1]:
        weights = weights - loose @ (np.linalg.pinv(loose, rcond=1e-6) @ weights)
    return LinearForm(
        np.concatenate([linear.points, carried.motion.points]),
        np.concatenate([linear.normals, carried.motion.normals]),
        weights,
        np.concatenate([linear.faces, carried.motion.faces]),
    )


def _held(rows: ndarray, free: ndarray) -> tuple[ndarray, ndarray]:
    """Least-squares motion within what is free, float64 (6, r), and what is free after it."""
    u, s, v = np.linalg.svd(rows @ free, full_matrices=True)
    number = int((s > LOOSE * max(float(s.max(initial=0.0)), 1e-12)).sum())
    solved = (v[:number].T / s[:number]) @ u[:, :number].T
    return free @ solved, free @ v[number:].T


def _opposite(angle: ndarray, height: ndarray) -> ndarray:
    """A row for each pair of points across the axis at one height."""
    far = np.abs(np.angle(np.exp(1j * (angle[:, None] - angle[None] - np.pi))))
    level = np.abs(height[:, None] - height[None])
    pairs = np.argwhere(np.triu((far < 1e-6) & (level < 1e-6), 1))
    rows = np.zeros((len(pairs), len(angle)))
    rows[np.arange(len(pairs)), pairs[:, 0]] = rows[np.arange(len(pairs)), pairs[:, 1]] = 1.0
    return rows


def _tilts(face: Sampled) -> ndarray:
    x, y = _frame(_mean(face.normals))
    q = face.points - face.points.mean(axis=0)
    return np.stack([np.ones(len(q)), q @ x, q @ y], axis=1)


def _mean(normals: ndarray) -> ndarray:
    mean = normals.mean(axis=0)
    return np.asarray(mean / np.linalg.norm(mean))


def _frame(along: ndarray) -> tuple[ndarray, ndarray]:
    least = np.eye(3)[int(np.argmin(np.abs(along)))]
    x = np.cross(along, least)
    x = x / np.linalg.norm(x)
    return x, np.cross(along, x)
