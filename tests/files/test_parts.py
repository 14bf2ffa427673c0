"""Part files of every format; trimesh writes what our readers read, and the numbers must come back."""

import hashlib
import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import trimesh

from sagger.errors import PartFileError
from sagger.files import read_part
from sagger.files.parts import format_of
from sagger.geometry.surface import mesh

pytestmark = pytest.mark.slow

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
BOX = trimesh.creation.box((10, 20, 30))


@pytest.fixture
def written(tmp_path):
    """A box in the format that the name ends in, as trimesh writes it."""

    def write(name, kind=""):
        path = tmp_path / name
        data = BOX.export(file_type=kind or path.suffix[1:])
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        return path

    return write


@pytest.mark.parametrize(
    "name, kind, said",
    [
        ("a.stl", "stl", "STL"),
        ("a.stl", "stl_ascii", "STL"),
        ("a.obj", "obj", "OBJ"),
        ("a.ply", "ply", "PLY"),
    ],
)
def test_a_box_comes_back_from_every_format(written, name, kind, said):
    part = read_part(written(name, kind), "mm")
    assert (part.format, part.unit, part.unit_from) == (said, "mm", "order")
    assert len(part.shape.vertices) == 8
    np.testing.assert_allclose(mesh.volume(part.shape), 6000, rtol=1e-6)


@pytest.mark.parametrize("unit, factor", [("in", 25.4), ("cm", 10), ("m", 1000), ("um", 0.001), ("mm", 1)])
def test_the_unit_of_the_order_counts_for_a_file_without_one(written, unit, factor):
    part = read_part(written("a.stl"), unit)
    np.testing.assert_allclose(mesh.extent(part.shape), np.array([10, 20, 30]) * factor, rtol=1e-6)


def test_a_unit_that_nobody_said_is_asked_for_or_marked_as_assumed(written):
    with pytest.raises(PartFileError, match=r"carry no unit .* Say which"):
        read_part(written("a.stl"))
    assert read_part(written("a.stl"), assume="mm").unit_from == "assumed"


def test_what_the_file_holds_decides_not_its_name(written, tmp_path):
    misnamed = written("a.stl").rename(tmp_path / "a.obj")
    assert format_of(misnamed) == "STL"
    assert read_part(misnamed, "mm").format == "STL"


def test_a_binary_file_may_begin_with_solid(written, tmp_path):
    path = written("a.stl")
    path.write_bytes(b"solid facet".ljust(80) + path.read_bytes()[80:])
    np.testing.assert_allclose(mesh.volume(read_part(path, "mm").shape), 6000, rtol=1e-6)


def test_the_digest_is_sha256_of_the_bytes(written):
    path = written("a.stl")
    assert read_part(path, "mm").digest == hashlib.sha256(path.read_bytes()).hexdigest()


def test_an_unknown_unit_is_refused(written):
    with pytest.raises(PartFileError, match="Known: mm, um, cm, m, in"):
        read_part(written("a.stl"), "inch")


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(PartFileError, match="there is no such file"):
        read_part(tmp_path / "gone.stl", "mm")
