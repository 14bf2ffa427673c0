"""The example orders: parts as drawn, closed, with the holes they are meant to have."""

from __future__ import annotations

import runpy
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from sagger import cards, files

EXAMPLES = Path(__file__).parents[2] / "examples"
DRAWN: dict[str, Any] = runpy.run_path(str(EXAMPLES / "draw_parts.py"))
ORDERS = sorted(EXAMPLES.glob("order-*.toml"))
HOLES = {
    "pump-lever.stl": 3,
    "clamp-body.3mf": 5,
    "ring-nozzle.stl": 13,
    "valve-core.stl": 0,
    "insulator-bush.stl": 1,
}


@pytest.mark.slow
@pytest.mark.parametrize("name", DRAWN["PARTS"])
def test_committed_files_are_what_the_script_draws(name: str) -> None:
    corners, triangles = DRAWN["triangles_of"](DRAWN["PARTS"][name]())
    write = DRAWN["threemf"] if name.endswith(".3mf") else DRAWN["stl"]
    kept = (EXAMPLES / "parts" / name).read_bytes()
    assert len(kept) < 300_000
    if name.endswith(".stl"):
        assert write(corners, triangles) == kept
    else:  # compressed bytes differ between versions of zlib
        shape = files.read_part(EXAMPLES / "parts" / name).shape
        np.testing.assert_allclose(np.sort(shape.vertices, axis=0), np.sort(corners, axis=0), atol=1e-4)


@pytest.mark.slow
@pytest.mark.parametrize("name", HOLES)
def test_parts_are_closed_and_have_their_through_holes(name: str) -> None:
    shape = files.read_part(EXAMPLES / "parts" / name, "mm" if name.endswith(".stl") else "").shape
    mesh = trimesh.Trimesh(shape.vertices, shape.triangles)
    assert mesh.is_watertight
    assert mesh.body_count == 1
    assert mesh.euler_number == 2 - 2 * HOLES[name]  # Euler-Poincaré: a solid with n through holes


@pytest.mark.parametrize("path", ORDERS, ids=lambda path: path.stem)
def test_orders_can_be_read_and_name_cards_that_fit(path: Path) -> None:
    order, names, paths = files.order.read(path, cards.DEFAULTS)
    assert "invented" in order.shop
    assert all(file.exists() for file in paths)
    powder = names.powder
    cell_names = names if powder != "silica-sand" else type(names)(**_without_furnace(names))
    assert cards.cell(cell_names).powder.name == powder


def _without_furnace(names: Any) -> dict[str, str]:
    return {field: "" if field == "furnace" else getattr(names, field) for field in names.__slots__}


def test_the_metal_order_shows_all_three_kinds_of_tolerance() -> None:
    order, _, _ = files.order.read(EXAMPLES / "order-metal.toml", cards.DEFAULTS)
    assert {request.tolerance.kind for request in order.requests} == {"mm", "percent", "iso2768"}
