"""What a click finds, and whether lines hold: on a part made here, and on drawings nobody here drew."""

import json
import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
import trimesh

from sagger.desk.pictures import faces
from sagger.desk.pictures.faces import PartSource
from sagger.errors import InputError
from sagger.files import read_part
from sagger.geometry.surface import band, links, mesh
from sagger.stations.intake import clicked

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
SOLID = manifold3d.Manifold
PARTS = Path(__file__).parents[3] / "shared" / "parts"
DRAWN = ["nist_ctc_01_asme1_ap242-e1.stp", "nist_ftc_07_asme1_ap242-e2.stp"]
ROW = {"file": "part", "quantity": 1, "tolerance": "1 %"}


@pytest.fixture(scope="module")
def block(tmp_path_factory):
    """A block 40 x 30 x 12 with a bore 8 at (12, 20), as an STL file."""
    body = shapes.of(SOLID.cube((40, 30, 12)) - SOLID.cylinder(20, 4, 4, 64).translate((12, 20, -4)))
    path = tmp_path_factory.mktemp("part") / "block.stl"
    trimesh.Trimesh(body.vertices, body.triangles, process=False).export(path)
    return PartSource(str(path), "mm")


def facet(source, at, facing):
    shape = read_part(Path(source.path), "mm").shape
    looks = mesh.area_vectors(shape) @ np.asarray(facing, float) > 0
    away = np.linalg.norm(mesh.corners(shape).mean(axis=1) - at, axis=1)
    return int(np.flatnonzero(looks)[np.argmin(away[looks])])


def clicks(source, *places):
    return json.loads(faces.picked(source, tuple(facet(source, *place) for place in places)))


BORE, TOP, SIDE = ((8, 20, 6), (1, 0, 0)), ((30, 5, 12), (0, 0, 1)), ((40, 15, 6), (1, 0, 0))


def test_a_click_says_the_face_in_words_and_as_an_order_would(block):
    told = clicks(block, BORE)
    (face,) = told["faces"]
    assert face["words"].startswith("bore 8.000 mm at 12, 20, 6 along z, 128 triangles, farthest corner 0.0")
    assert face["stated"] == "bore 8 mm at 12, 20, 6 along z" and face["why"] == ""
    assert told["questions"] == ["diameter", "radius", "roundness", "cylindricity", "straightness"]
    assert sum(face["runs"][1::2]) == 128


def test_two_faces_may_be_asked_for_what_lies_between_them(block):
    assert "position" in clicks(block, BORE, TOP)["questions"]
    assert "perpendicularity" in clicks(block, BORE, TOP)["questions"]
    assert clicks(block, TOP, SIDE)["questions"][:2] == ["angle", "perpendicularity"]
    bottom = ((30, 5, 0), (0, 0, -1))
    assert clicks(block, TOP, bottom)["questions"][:3] == ["thickness", "distance", "parallelism"]
    assert clicks(block, BORE, SIDE)["questions"][:2] == ["distance", "parallelism"]


def test_a_face_is_no_second_face_to_itself(block):
    told = clicks(block, TOP, TOP)
    assert told["questions"] == [] and "first face" in told["faces"][1]["why"]


def test_lines_are_tied_as_planning_ties_them(block):
    first, second = (face["stated"] for face in clicks(block, BORE, TOP)["faces"])
    row = ROW | {
        "datum": [{"name": "A", "face": second}],
        "dimension": [
            {"what": "diameter", "of": first, "limit": "H11"},
            {"what": "perpendicularity", "of": first, "to": ["A"], "limit": "0.1 mm", "zone": "round"},
        ],
    }
    told = json.loads(faces.lines(block, row, "order.toml"))
    assert [line[6] for line in told["rows"]] == ["yes", "yes"]
    assert told["rows"][0][2] == "8 to 8.09 mm"
    assert sum(told["facets"][0][1::2]) == 128
    with pytest.raises(InputError, match="no such face"):
        faces.lines(
            block, ROW | {"dimension": [{"what": "flatness", "of": "plane at 9, 9, 5", "limit": "1 mm"}]}, "o"
        )
    with pytest.raises(InputError, match="there is no such grade"):
        faces.lines(block, ROW | {"dimension": [{"what": "diameter", "of": first, "limit": "H99"}]}, "o")
    assert json.loads(faces.lines(block, ROW, "o"))["rows"] == []


def test_a_triangle_that_is_not_there_is_refused(block):
    for wrong in (-1, 10**6):
        with pytest.raises(InputError, match="no such triangle"):
            faces.picked(block, (wrong,))


def test_a_part_is_shown_as_the_order_turns_and_scales_it(block):
    plain, turned = (
        json.loads(faces.size(block)),
        json.loads(faces.size(block._replace(turn_deg=(0, 0, 90), scale=2.0))),
    )
    np.testing.assert_allclose(np.subtract(turned["high"], turned["low"]), (60, 80, 24), atol=1e-6)
    assert plain["triangles"] == turned["triangles"]


def truth(part):
    """The faces of a STEP file that are planes and cylinders, and of each triangle the surface it lies on."""
    known = {face.number: face for face in part.drawing.faces}
    names, group = [], np.full(len(part.face_of), -1)
    for number in np.unique(part.face_of):
        face = known[int(number)]
        if face.kind not in ("plane", "cylinder"):
            continue
        place = next((at for at, other in enumerate(names) if clicked._one_surface(face, other)), len(names))
        names += [face] if place == len(names) else []
        group[part.face_of == number] = place
    return known, group


def right(on, part, found, facet):
    """Whether a click found its face: 95 % of its area and no more than 5 % beside, diameter to 1 µm."""
    known, group = part
    if found is None:
        return False
    own = group == group[facet]
    mine = known["of"] == known["of"][facet]
    hit = np.zeros(len(own), bool)
    hit[found.triangles] = True
    share = on.areas[mine & hit].sum() / on.areas[mine].sum(), on.areas[own & hit].sum() / on.areas[hit].sum()
    return min(share) > 0.95 and abs(found.diameter - known["size"][facet]) < 1e-3


@pytest.mark.slow
@pytest.mark.parametrize("name", DRAWN)
@pytest.mark.parametrize("bare", [False, True], ids=["as STEP", "as a bare mesh"])
def test_clicks_on_drawings_give_the_right_face(name, bare):
    if not (PARTS / name).exists():
        pytest.skip("needs the part files beside the project")
    part = read_part(PARTS / name)
    known, group = truth(part)
    single = mesh.shape(part.shape.vertices.astype(np.float32).astype(float), part.shape.triangles)
    on = links.linked(single if bare else part.shape)
    size = np.array([2 * known[int(number)].radius_mm for number in part.face_of])
    facts = ({"of": part.face_of, "size": size}, group)
    sample = np.random.default_rng(20).choice(np.flatnonzero(group >= 0), 120, replace=False)
    found = [band.grown(on, int(at)) if bare else clicked.clicked(part, on, int(at)) for at in sample]
    good = [right(on, facts, face, at) for face, at in zip(found, sample, strict=True)]
    assert np.mean(good) >= 0.95
