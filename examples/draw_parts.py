"""Draws the part files of the example orders. All of them, and the shop that orders them, are invented.

    python examples/draw_parts.py

The files lie in examples/parts; the same script gives the same bytes.
"""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

FOLDER = Path(__file__).parent / "parts"
SIDES = 72  # of a full circle


def pump_lever() -> Manifold:
    """A lever with hub and eye, 70 x 22 x 14 mm."""
    hub, eye = disc(11), disc(7).translate((52, 0))
    arm = CrossSection.batch_hull([disc(8), disc(5).translate((52, 0))])
    body = arm.extrude(8) + hub.extrude(14) + eye.extrude(11)
    bores = disc(6).extrude(14) + disc(3.25).translate((52, 0)).extrude(11)
    keyway = CrossSection.square((3, 4)).translate((5, -2)).extrude(14)
    lightened = CrossSection.batch_hull([disc(3).translate((20, 0)), disc(2).translate((37, 0))]).extrude(8)
    return body - bores - keyway - lightened


def clamp_body() -> Manifold:
    """A split clamp of 42 x 30 x 24 mm with a channel inside that opens at one end and on top."""
    body = CrossSection.square((42, 30)).offset(-3).offset(3, circular_segments=SIDES).extrude(24)
    grip = along_y(disc(8)).translate((30, 0, 12))
    slot = Manifold.cube((13, 30, 2.5)).translate((30, 0, 10.75))
    bolts = disc(2.75).translate((38.2, 7)).extrude(24) + disc(2.75).translate((38.2, 23)).extrude(24)
    inlet = along_x(disc(3)).scale((1 / 3, 1, 1)).translate((0, 15, 8))
    outlet = disc(3).translate((14, 15)).extrude(24).trim_by_plane((0, 0, 1), 8)
    elbow = Manifold.sphere(3, SIDES).translate((14, 15, 8))
    return body - grip - slot - bolts - inlet - outlet - elbow


def ring_nozzle() -> Manifold:
    """A ring of 44 mm with an open groove inside and twelve slanted jets, 14 mm high."""
    profile = CrossSection(
        [[(13.5, 0), (22, 0), (22, 11), (19, 14), (13.5, 14), (13.5, 11), (17, 9.5), (17, 4.5), (13.5, 3)]]
    )
    ring = profile.revolve(SIDES)
    jet = along_x(disc(1.6)).scale((12 / 42, 1, 1)).translate((14, 0, 0)).rotate((0, -15, 0))
    jets = [jet.translate((0, 0, 2.5)).rotate((0, 0, 30 * turn)) for turn in range(12)]
    return ring - Manifold.batch_boolean(jets, OpType.Add)


def valve_core() -> Manifold:
    """A sand core for a valve body: a passage with a bulge and a branch, 150 x 80 x 60 mm."""
    print_left = along_x(disc(20)).scale((30 / 42, 1, 1))
    print_right = print_left.translate((120, 0, 0))
    bulge = Manifold.sphere(30, SIDES).scale((1.15, 1.0, 1.0)).translate((75, 0, 0))
    neck = along_x(disc(16)).scale((100 / 42, 1, 1)).translate((25, 0, 0))
    branch = along_y(disc(14)).scale((1, 50 / 30, 1)).translate((75, 0, 0))
    return (print_left + print_right + bulge + neck + branch).translate((0, 30, 30))


def insulator_bush() -> Manifold:
    """An alumina bush with flange and two ribs, 30 mm across and 22 mm high."""
    ribs = [(9, 7), (11, 8), (11, 11), (9, 12), (9, 14), (11, 15), (11, 18), (9, 19)]
    profile = CrossSection([[(4.5, 0), (15, 0), (15, 4), (9, 4), *ribs, (9, 22), (4.5, 22)]])
    flat = Manifold.cube((30, 4, 4)).translate((-15, 12.5, 0))
    return profile.revolve(SIDES) - flat


PARTS = {
    "pump-lever.stl": pump_lever,
    "clamp-body.3mf": clamp_body,
    "ring-nozzle.stl": ring_nozzle,
    "valve-core.stl": valve_core,
    "insulator-bush.stl": insulator_bush,
}


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name, draw in PARTS.items():
        solid = draw()
        corners, triangles = triangles_of(solid)
        write = threemf if name.endswith(".3mf") else stl
        (FOLDER / name).write_bytes(write(corners, triangles))
        low = np.array(solid.bounding_box()).reshape(2, 3)
        size = " x ".join(f"{length:g}" for length in np.round(low[1] - low[0], 3))
        print(f"{name}: {size} mm, {solid.volume() / 1e3:.3f} cm3, {len(triangles)} triangles")


def disc(radius: float) -> CrossSection:
    """A circle [mm]."""
    return CrossSection.circle(radius, SIDES)


def along_x(section: CrossSection) -> Manifold:
    """A bar of 42 mm along x."""
    return section.extrude(42).rotate((90, 0, 90))


def along_y(section: CrossSection) -> Manifold:
    """A bar of 30 mm along y."""
    return section.extrude(30).rotate((-90, 0, 0))


def triangles_of(solid: Manifold) -> tuple[np.ndarray, np.ndarray]:
    """Corners float32 (n, 3) [mm] and triangles (m, 3)."""
    mesh = solid.to_mesh()
    return np.asarray(mesh.vert_properties, "<f4")[:, :3], np.asarray(mesh.tri_verts)


def stl(corners: np.ndarray, triangles: np.ndarray) -> bytes:
    """A binary STL file."""
    facets = np.zeros(
        len(triangles), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")]
    )
    facets["corners"] = corners[triangles]
    a, b, c = (corners[triangles[:, corner]].astype(float) for corner in range(3))
    normals = np.cross(b - a, c - a)
    facets["normal"] = normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-30)
    return b"an example part".ljust(80) + np.uint32(len(facets)).tobytes() + facets.tobytes()


def threemf(corners: np.ndarray, triangles: np.ndarray) -> bytes:
    """A 3MF file (core specification 1.x): one object in millimetres."""
    core = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    points = "".join(f'<vertex x="{x:.6g}" y="{y:.6g}" z="{z:.6g}"/>' for x, y, z in corners)
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in triangles)
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?><model unit="millimeter" xmlns="{core}"><resources>'
        '<object id="1" type="model"><mesh>'
        f"<vertices>{points}</vertices><triangles>{faces}</triangles></mesh>"
        '</object></resources><build><item objectid="1"/></build></model>'
    )
    types = "http://schemas.openxmlformats.org/package/2006/content-types"
    links = "http://schemas.openxmlformats.org/package/2006/relationships"
    files = {
        "[Content_Types].xml": f'<Types xmlns="{types}"><Default Extension="rels" ContentType='
        '"application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType='
        '"application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{links}"><Relationship Id="r1" Target="/3D/part.model" Type='
        '"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>',
        "3D/part.model": model,
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in files.items():
            package.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), text, zipfile.ZIP_DEFLATED)
    return out.getvalue()


if __name__ == "__main__":
    main()
