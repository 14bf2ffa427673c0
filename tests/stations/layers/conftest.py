"""A box with placed shapes, for the tests of layers."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import trimesh

from sagger.goods.figure import Figure
from sagger.goods.order import Choices, Request, Tolerance
from sagger.goods.shape import Shape
from sagger.stations import layers


def fig(value):
    return Figure(value=value, u=0.0, printed=str(value), source="test", where="", standing="assumed")


def placed(*at, linear=None):
    """Placement that puts a part's origin at `at` [mm]."""
    placement = np.eye(4)
    placement[:3, :3] = np.eye(3) if linear is None else linear
    placement[:3, 3] = at
    return placement


def turned(degrees):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])


def a_head(dpi=(400, 400), **given):
    """What layers look at of a head card."""
    facts = {
        "resolution_x": fig(dpi[0] / 0.0254),
        "resolution_y": fig(dpi[1] / 0.0254),
        "native_y": fig(dpi[1] / 0.0254),
        "nozzles": fig(128),
        "redundancy": fig(1),
        "bits": 1,
        "dead_nozzles": (),
        "levels": (),
    }
    return SimpleNamespace(**(facts | given))


def request(**given):
    tolerance = Tolerance(kind="mm", value=0.1)
    return Request(name="part", file="part.stl", unit="mm", quantity=1, tolerance=tolerance, **given)


def stack(
    pieces,
    *,
    size_mm=(40, 30, 30),
    dpi=(400, 400),
    layer_um=100.0,
    jitter=None,
    cover_mm=0.0,
    head=None,
    requests=None,
    **choices,
):
    """Stack of (mesh, placement) pairs; meshes that are one object are one part."""
    meshes = list({id(mesh): mesh for mesh, _ in pieces}.values())
    tops = [trimesh.transform_points(mesh.vertices, placement)[:, 2].max() for mesh, placement in pieces]
    box = SimpleNamespace(
        **{f"length_{axis}": fig(mm * 1e-3) for axis, mm in zip("xyz", size_mm, strict=True)},
        wall_gap=fig(0.0),
        floor_gap=fig(cover_mm * 1e-3),
    )
    greens = tuple(
        SimpleNamespace(
            shape=Shape(vertices=np.array(mesh.vertices), triangles=np.array(mesh.faces, np.int32)),
            part=SimpleNamespace(request=request(**(requests[n] if requests else {}))),
        )
        for n, mesh in enumerate(meshes)
    )
    index = {id(mesh): n for n, mesh in enumerate(meshes)}
    layout = SimpleNamespace(
        box=box,
        greens=greens,
        pieces=tuple(
            SimpleNamespace(part=index[id(mesh)], number=n, turn=0, placement=placement)
            for n, (mesh, placement) in enumerate(pieces, 1)
        ),
        height_mm=max(tops),
    )
    card = a_head(dpi, **(head or {}))
    powder = SimpleNamespace(layer=fig(50e-6))
    return layers.draw(layout, card, powder, Choices(layer_um=layer_um, phase_jitter=jitter, **choices))


def torus(ring=8.0, tube=3.0, sections=(256, 128)):
    return trimesh.creation.torus(ring, tube, major_sections=sections[0], minor_sections=sections[1])


@pytest.fixture
def bed():
    """Functions that make stacks: `stack`, `placed`, `turned`, `torus`, `head`, `fig`."""
    return SimpleNamespace(stack=stack, placed=placed, turned=turned, torus=torus, head=a_head, fig=fig)
