"""VTK, legacy form, binary: a surface with fields at its vertices."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.goods.shape import Shape

TITLE_MOST = 255  # bytes of the second line, by the format


def write(path: Path, surface: Shape, fields: Mapping[str, ndarray], title: str = "sagger") -> None:
    """Write triangles [mm] and fields of their vertices, (n,) as scalars, (n, 3) as vectors.

    Parameters
    ----------
    fields : mapping
        Names without blanks; one value or three for each vertex.

    Raises
    ------
    InputError
        If a name has a blank, or a field does not fit the vertices.

    Source
    ------
    The VTK file formats, simple legacy formats, version 3.0: big-endian after the text.
    """
    count, triangles = len(surface.vertices), surface.triangles
    corners = np.column_stack([np.full(len(triangles), 3), triangles]).astype(">i4")
    body = [
        b"# vtk DataFile Version 3.0\n" + title.encode("ascii", "replace")[:TITLE_MOST] + b"\nBINARY\n",
        f"DATASET POLYDATA\nPOINTS {count} double\n".encode(),
        np.asarray(surface.vertices).astype(">f8").tobytes(),
        f"\nPOLYGONS {len(triangles)} {corners.size}\n".encode(),
        corners.tobytes(),
        f"\nPOINT_DATA {count}\n".encode(),
    ]
    for name, values in fields.items():
        body += [_head(name, np.asarray(values), count), np.asarray(values).astype(">f8").tobytes(), b"\n"]
    aside = path.with_name(path.name + ".part")
    aside.write_bytes(b"".join(body))
    os.replace(aside, path)


def _head(name: str, values: ndarray, count: int) -> bytes:
    if any(letter.isspace() for letter in name) or values.shape not in ((count,), (count, 3)):
        raise InputError(
            "a field needs a name without blanks and one or three values a vertex",
            field=name,
            value=values.shape,
        )
    if values.ndim == 1:
        return f"SCALARS {name} double 1\nLOOKUP_TABLE default\n".encode()
    return f"VECTORS {name} double\n".encode()
