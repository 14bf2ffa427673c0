"""OBJ and PLY: triangles without a unit."""

from __future__ import annotations

import io
from pathlib import Path

from sagger.errors import PartFileError
from sagger.geometry import mesh
from sagger.goods.shape import Shape


def read(path: Path, kind: str) -> tuple[Shape, str]:
    """Triangles in the file's own unit, and "" because neither format names one.

    Raises
    ------
    PartFileError
        If there are no faces in it.
    """
    import trimesh

    data = io.BytesIO(path.read_bytes())  # bytes without a place: no other file they name can be opened
    scene = trimesh.load_scene(data, file_type=kind.lower(), process=False, skip_materials=True)
    solid = scene.to_mesh()
    if not len(solid.faces):
        raise PartFileError("there are no faces in it", file=path.name, remedy="Export a mesh, not points.")
    return mesh.welded(mesh.shape(solid.vertices, solid.faces)), ""
