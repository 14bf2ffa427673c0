"""bed.3mf against lib3mf, the consortium's reference library, in strict mode."""

import itertools
import runpy
from pathlib import Path
from types import SimpleNamespace

import lib3mf
import numpy as np
import pytest

from sagger.errors import PartFileError
from sagger.files import read_bed, read_part, write_3mf
from sagger.files.bed import transform
from sagger.geometry.surface import mesh
from sagger.goods.factors import Factors
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Piece
from sagger.goods.part import Part

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
K = np.array([1.19, 1.20, 1.22])
QUARTER = np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]])


def green(shape, name="a & <b>"):
    request = shapes.request(name=name, file="a.stl")
    part = Part(
        request=request, digest="d", shape=shape, volume_mm3=1.0, area_mm2=1.0, extent_mm=(1.0, 1.0, 1.0),
        thickest_mm=1.0, turns=QUARTER[None], healed=(), findings=(),
    )  # fmt: skip
    factors = Factors(k=K, u=K * 0.002, material="steel", origin="card")
    return Green(part=part, shape=shape, factors=factors, maps=(np.diag(K) @ QUARTER)[None])


@pytest.fixture
def layout():
    """A box 10 x 20 x 30 and a sphere, three pieces."""
    greens = (green(shapes.box(10, 20, 30, at=(5, 10, 15))), green(shapes.sphere(4, 3), "ball"))
    places = [(0, (50, 40, 0)), (0, (90, 40, 0)), (1, (20, 20, 30))]
    pieces = tuple(
        Piece(part=part, number=number, turn=0, placement=placement(at))
        for number, (part, at) in enumerate(places, start=1)
    )
    return Layout(
        number=1, box=shapes.cell().box, greens=greens, pieces=pieces, gap_mm=3.0, least_gap_mm=3.0,
        wall_gap_mm=5.0, height_mm=40.0, volume_mm3=1.0, density=0.1,
    )  # fmt: skip


def placement(at):
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = np.diag(K) @ QUARTER, at
    return matrix


def strictly(path):
    """The model as lib3mf reads it in strict mode."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    return model


def items(model):
    found = model.GetBuildItems()
    while found.MoveNext():
        yield found.GetCurrent()


def placed(item):
    """Vertices of a build item as lib3mf places them."""
    body = item.GetObjectResource()
    points = np.array([list(vertex.Coordinates) for vertex in body.GetVertices()])
    rows = np.array([list(row) for row in item.GetObjectTransform().Fields])
    return points @ rows[:3] + rows[3]


def test_a_placement_becomes_the_twelve_numbers_of_the_specification():
    """Worked example: +90 degrees about z, factors in the machine's axes, moved by (50, 40, 0)."""
    assert transform(placement((50, 40, 0))) == "0 1.2 0 -1.19 0 0 0 0 1.22 50 40 0"


def test_the_reference_library_reads_it_strictly_and_sees_each_part_once(layout, tmp_path):
    write_3mf(tmp_path / "bed.3mf", layout)
    model = strictly(tmp_path / "bed.3mf")
    assert len(list(items(model))) == 3
    assert model.GetMeshObjects().Count() == 2


def test_pieces_lie_where_the_layout_says(layout, tmp_path):
    write_3mf(tmp_path / "bed.3mf", layout)
    model = strictly(tmp_path / "bed.3mf")  # lib3mf crashes if the model goes before its items
    for item, piece in zip(items(model), layout.pieces, strict=True):
        truth = layout.greens[piece.part].shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
        np.testing.assert_allclose(placed(item), truth, rtol=0, atol=2e-5)  # lib3mf keeps float32


def test_bounds_and_volume_of_the_worked_example(layout, tmp_path):
    write_3mf(tmp_path / "bed.3mf", layout)
    model = strictly(tmp_path / "bed.3mf")
    first = placed(next(items(model)))
    np.testing.assert_allclose(first.min(axis=0), [26.2, 40, 0], rtol=0, atol=1e-5)
    np.testing.assert_allclose(first.max(axis=0), [50, 52, 36.6], rtol=0, atol=1e-5)
    np.testing.assert_allclose(np.ptp(first, axis=0).prod(), 10452.96, rtol=1e-6)


@pytest.mark.slow
def test_our_own_reader_gets_the_volume_back(layout, tmp_path):
    write_3mf(tmp_path / "bed.3mf", layout)
    nominal = sum(mesh.volume(layout.greens[piece.part].shape) for piece in layout.pieces)
    found = mesh.volume(read_part(tmp_path / "bed.3mf").shape)
    np.testing.assert_allclose(found, nominal * K.prod(), rtol=1e-8)


def test_factors_are_told_and_nothing_else_has_a_plain_name(layout, tmp_path):
    write_3mf(tmp_path / "bed.3mf", layout)
    model = strictly(tmp_path / "bed.3mf")
    told = model.GetMetaDataGroup()
    plain = [told.GetMetaData(k) for k in range(told.GetMetaDataCount())]
    assert {each.GetName() for each in plain if not each.GetNameSpace()} == {"Title", "Application"}
    parts = next(items(model)).GetObjectResource().GetMetaDataGroup()
    assert parts.GetMetaDataByKey("urn:sagger:bed:1", "factors").GetValue() == "1.19 1.2 1.22"


def test_equal_layouts_give_equal_bytes(layout, tmp_path):
    for name in "ab":
        write_3mf(tmp_path / name, layout)
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()
    assert not list(itertools.chain(tmp_path.glob("*.part")))


def test_a_bed_is_read_back_as_parts_and_places(layout, tmp_path):
    write_3mf(tmp_path / "bed.3mf", layout)
    found, items = read_bed(tmp_path / "bed.3mf")
    for part, made in enumerate(layout.greens):
        np.testing.assert_allclose(found[part].vertices, made.shape.vertices, rtol=0, atol=1e-7)
        np.testing.assert_array_equal(found[part].triangles, made.shape.triangles)
    assert [part for part, _ in items] == [piece.part for piece in layout.pieces]
    for (_, placement), piece in zip(items, layout.pieces, strict=True):
        np.testing.assert_allclose(placement, piece.placement, rtol=0, atol=1e-9)


def test_a_bed_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(PartFileError, match="cannot be opened"):
        read_bed(tmp_path / "bed.3mf")
