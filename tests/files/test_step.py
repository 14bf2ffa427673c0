"""STEP files as they come: bodies by name, assemblies, free sheets, units; boxes of known size."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sagger.errors import PartFileError
from sagger.files import read_part, read_parts
from sagger.files.part21 import Text
from sagger.files.parts import chosen
from sagger.files.pmi_measures import length_units
from sagger.files.reading import Wish
from sagger.geometry.surface import mesh

made = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "step_files.py")))
PARTS = Path(__file__).parents[2].parent / "shared" / "parts"
PLATE, RIB = ("plate", (0, 0, 0), (30, 20, 2)), ("rib", (40, 0, 0), (3, 20, 10))
slow = pytest.mark.slow


@pytest.fixture
def step(tmp_path):
    def write(text):
        (tmp_path / "part.step").write_text(text)
        return tmp_path / "part.step"

    return write


@slow
def test_an_assembly_is_offered_as_its_parts_with_numbers_of_copies(step):
    names = [(f"part {n}", (5 + n, 4, 3), [(20 * n, 0, 30 * m) for m in range(1 + n % 3)]) for n in range(10)]
    parts = read_parts(step(made.assembly(names)))
    assert [(part.body, part.copies) for part in parts] == [(f"part {n}", 1 + n % 3) for n in range(10)]
    np.testing.assert_allclose(
        [mesh.volume(p.shape) for p in parts], [12 * (5 + n) for n in range(10)], rtol=1e-6
    )


@slow
def test_bodies_of_one_product_come_by_their_own_names_and_are_never_joined(step):
    overlapping = ("block", (10, 0, 0), (30, 20, 2))
    parts = read_parts(step(made.bodies([PLATE, overlapping, RIB])))
    assert [part.body for part in parts] == ["plate", "block", "rib"]
    np.testing.assert_allclose([mesh.volume(part.shape) for part in parts], [1200, 1200, 600], rtol=1e-5)
    with pytest.raises(PartFileError, match="holds 3 bodies: plate, block, rib"):
        read_part(step(made.bodies([PLATE, overlapping, RIB])))
    assert chosen(parts, "rib") is parts[2]
    with pytest.raises(PartFileError, match="no such body") as refused:
        chosen(parts, "plat")
    assert "plate" in refused.value.remedy


@slow
def test_a_free_sheet_is_no_part_of_the_solid(step):
    (part,) = read_parts(step(made.bodies([PLATE], sheet=((0, 0, 50), (10, 10, 10)))))
    np.testing.assert_allclose(mesh.extent(part.shape), (30, 20, 2), rtol=1e-6)
    assert [noticed.what for noticed in part.findings] == ["free sheet"]


@slow
def test_each_triangle_knows_its_exact_face(step):
    (part,) = read_parts(step(made.bodies([PLATE])))
    corners = mesh.corners(part.shape)
    for face in part.drawing.faces:
        own = corners[part.face_of == face.number].reshape(-1, 3)
        np.testing.assert_allclose((own - face.at_mm) @ face.along, 0, atol=1e-5)


@slow
@pytest.mark.parametrize(("unit", "factor"), [("mm", 1), ("m", 1000)])
def test_the_unit_of_the_file_counts(step, unit, factor):
    (part,) = read_parts(step(made.bodies([("a", (0, 0, 0), (3, 2, 1))], unit=unit)), unit="in")
    assert (part.unit, part.unit_from) == (unit, "file")
    np.testing.assert_allclose(mesh.extent(part.shape), np.array([3, 2, 1]) * factor, rtol=1e-6)


def test_units_that_contradict_one_another_are_listed():
    text = made.bodies([PLATE]) + made.bodies([RIB], unit="m").replace("#", "#9")
    assert sorted(length_units(Text(text))) == ["m", "mm"]


def test_names_in_other_alphabets_are_decoded():
    """ISO 10303-21 control directives (memory)."""
    file = Text(r"DATA;#1=A('B\X2\00F6\X0\den','\X\E4','\S\d');")
    assert file.entity(1)["A"] == ("Böden", "ä", "ä")


@slow
def test_a_coarser_chord_gives_fewer_triangles():
    path = PARTS / "featuretype.STEP"
    if not path.exists():
        pytest.skip("part files beside the project")
    fine, coarse = (
        len(read_part(path, wish=Wish(chord_mm=chord)).shape.triangles) for chord in (0.001, 0.05)
    )
    assert coarse < 0.8 * fine
