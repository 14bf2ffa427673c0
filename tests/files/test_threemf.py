"""3MF in: units, transforms, components, several objects, split packages."""

import io
import zipfile

import numpy as np
import pytest

from sagger.files import read_part, threemf
from sagger.geometry.surface import mesh

CORE, PRODUCTION = threemf.CORE, threemf.PRODUCTION
RELS = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Id="r" Target="/3D/a.model" Type="{threemf.START_PART}"/></Relationships>'
)
POINTS = [(x, y, z) for x in (0, 1) for y in (0, 2) for z in (0, 3)]
SIDES = [
    (0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1),
    (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3),
]  # fmt: skip
BLOCK = (
    "<mesh><vertices>"
    + "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in POINTS)
    + "</vertices><triangles>"
    + "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in SIDES)
    + "</triangles></mesh>"
)


@pytest.fixture
def read(tmp_path):
    """Reads a model given as resources, build, attributes and further parts of the package."""

    def call(resources, build, attributes="", **parts):
        text = f'<model xmlns="{CORE}" xmlns:p="{PRODUCTION}" {attributes}>'
        text += f"<resources>{resources}</resources><build>{build}</build></model>"
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w") as package:
            package.writestr("_rels/.rels", RELS)
            package.writestr("3D/a.model", text)
            for name, more in parts.items():
                package.writestr(f"3D/{name}.model", more)
        (tmp_path / "a.3mf").write_bytes(packed.getvalue())
        return read_part(tmp_path / "a.3mf")

    return call


@pytest.mark.slow
@pytest.mark.parametrize(
    "unit, word, mm",
    [("micron", "um", 0.001), ("millimeter", "mm", 1), ("centimeter", "cm", 10), ("inch", "in", 25.4),
     ("foot", "ft", 304.8), ("meter", "m", 1000)],
)  # fmt: skip
def test_every_unit_of_the_core_specification(read, unit, word, mm):
    """3MF Core Specification 1.4.0, 3.4: values of the unit attribute."""
    part = read(f'<object id="1">{BLOCK}</object>', '<item objectid="1"/>', f'unit="{unit}"')
    assert (part.unit, part.unit_from) == (word, "file")
    np.testing.assert_allclose(mesh.extent(part.shape), np.array([1, 2, 3]) * mm, rtol=1e-12)


@pytest.mark.slow
def test_millimetres_where_no_unit_is_named(read):
    assert read(f'<object id="1">{BLOCK}</object>', '<item objectid="1"/>').unit == "mm"


@pytest.mark.slow
def test_a_transform_acts_on_row_vectors(read):
    """Worked example: +90 degrees about z, then factors 1.19, 1.20, 1.22 along the machine's axes."""
    transform = "0 1.2 0 -1.19 0 0 0 0 1.22 50 40 0"
    part = read(f'<object id="1">{BLOCK}</object>', f'<item objectid="1" transform="{transform}"/>')
    low, high = part.shape.vertices.min(axis=0), part.shape.vertices.max(axis=0)
    np.testing.assert_allclose(low, [50 - 2 * 1.19, 40, 0], rtol=1e-12)
    np.testing.assert_allclose(high, [50, 41.2, 3 * 1.22], rtol=1e-12)


@pytest.mark.slow
def test_a_mirroring_transform_keeps_the_volume_positive(read):
    build = '<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>'
    np.testing.assert_allclose(
        mesh.volume(read(f'<object id="1">{BLOCK}</object>', build).shape), 6, rtol=1e-12
    )


@pytest.mark.slow
def test_components_and_items_are_merged(read):
    resources = (
        f'<object id="1">{BLOCK}</object><object id="2"><components><component objectid="1"/>'
        '<component objectid="1" transform="2 0 0 0 2 0 0 0 2 10 0 0"/></components></object>'
    )
    build = '<item objectid="2"/><item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 50 0"/>'
    part = read(resources, build)
    np.testing.assert_allclose(mesh.volume(part.shape), 6 + 48 + 6, rtol=1e-12)
    np.testing.assert_allclose(mesh.extent(part.shape), [12, 52, 6], rtol=1e-12)


@pytest.mark.slow
def test_transforms_of_components_come_before_those_of_items(read):
    resources = (
        f'<object id="1">{BLOCK}</object><object id="2"><components>'
        '<component objectid="1" transform="3 0 0 0 1 0 0 0 1 5 0 0"/></components></object>'
    )
    part = read(resources, '<item objectid="2" transform="0 1 0 -1 0 0 0 0 1 0 0 0"/>')
    np.testing.assert_allclose(part.shape.vertices.min(axis=0), [-2, 5, 0], rtol=0, atol=1e-12)
    np.testing.assert_allclose(part.shape.vertices.max(axis=0), [0, 8, 3], rtol=0, atol=1e-12)


@pytest.mark.slow
def test_only_what_the_build_places_counts(read):
    part = read(f'<object id="1">{BLOCK}</object><object id="2">{BLOCK}</object>', '<item objectid="2"/>')
    assert len(part.shape.triangles) == 12


@pytest.mark.slow
def test_a_part_of_the_package_may_hold_the_mesh(read):
    """3MF Production Extension: path attribute of components."""
    other = f'<model xmlns="{CORE}"><resources><object id="9">{BLOCK}</object></resources><build/></model>'
    resources = (
        '<object id="1"><components><component objectid="9" p:path="/3D/b.model"/></components></object>'
    )
    part = read(resources, '<item objectid="1"/>', 'requiredextensions="p"', b=other)
    np.testing.assert_allclose(mesh.volume(part.shape), 6, rtol=1e-12)
