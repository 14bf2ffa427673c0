"""STEP (ISO 10303-21): exact shapes, turned into triangles on reading."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np

from sagger.errors import PartFileError
from sagger.geometry import mesh
from sagger.goods.shape import Shape

CHORD_MM = 0.01  # largest distance of a triangle from the exact surface
ANGLE_RAD = 0.2  # largest turn between neighbouring facets of a curve
WELD_MM = 1e-5  # faces are meshed one by one; their rims agree to rounding


def read(path: Path) -> tuple[Shape, str]:
    """All solids of a STEP file, placed as assembled, in mm; and the unit its geometry is written in.

    Raises
    ------
    PartFileError
        If the kernel finds no shape in it.
    """
    import cascadio
    import trimesh

    data = path.read_bytes()
    glb = cascadio.to_glb_bytes(
        data, tol_linear=CHORD_MM, tol_angular=ANGLE_RAD, merge_primitives=True, use_parallel=False
    )
    if not glb:
        raise PartFileError(
            "no solid could be read from it", file=path.name, remedy="Export it again as AP242."
        )
    solid = trimesh.load_scene(io.BytesIO(glb), file_type="glb", process=False).to_mesh()
    body = mesh.mapped(mesh.shape(solid.vertices, solid.faces), np.eye(3) * 1000.0)  # glTF is in metres
    body = mesh.without_flat(mesh.welded(body))
    return mesh.without_flat(mesh.welded_within(body, WELD_MM)), unit(data)


def unit(data: bytes) -> str:
    """The length unit a STEP file says its geometry is in; "mm" if it does not say."""
    text = data.decode("latin-1")
    if re.search(r"CONVERSION_BASED_UNIT\s*\(\s*'INCH'", text, re.IGNORECASE):
        return "in"
    prefix = re.search(r"SI_UNIT\s*\(\s*(\$|\.[A-Z]+\.)\s*,\s*\.METRE\.\s*\)", text, re.IGNORECASE)
    words = {"$": "m", ".MILLI.": "mm", ".CENTI.": "cm", ".MICRO.": "um"}
    return words.get(prefix[1].upper(), "mm") if prefix else "mm"
