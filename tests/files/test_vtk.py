"""A surface with fields, written as VTK, read back by the format's own description."""

import numpy as np
import pytest

from sagger.errors import InputError
from sagger.files import vtk
from sagger.goods.shape import Shape

BODY = Shape(
    vertices=np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]),
    triangles=np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]], dtype=np.int32),
)


def test_points_triangles_and_fields_are_read_back(tmp_path):
    """Simple legacy VTK 3.0, read here word by word from the published description of the format."""
    field = np.array([1.5, -2.0, 0.25, 8.0])
    vtk.write(tmp_path / "a.vtk", BODY, {"height": field, "off": BODY.vertices * 2}, "a body")
    data = (tmp_path / "a.vtk").read_bytes()
    head, rest = data.split(b"POINTS 4 double\n", 1)
    assert head == b"# vtk DataFile Version 3.0\na body\nBINARY\nDATASET POLYDATA\n"
    np.testing.assert_array_equal(np.frombuffer(rest, ">f8", 12).reshape(4, 3), BODY.vertices)
    _, rest = rest.split(b"POLYGONS 4 16\n", 1)
    cells = np.frombuffer(rest, ">i4", 16).reshape(4, 4)
    np.testing.assert_array_equal(cells, np.column_stack([[3] * 4, BODY.triangles]))
    _, rest = rest.split(b"POINT_DATA 4\nSCALARS height double 1\nLOOKUP_TABLE default\n", 1)
    np.testing.assert_array_equal(np.frombuffer(rest, ">f8", 4), field)
    _, rest = rest.split(b"VECTORS off double\n", 1)
    np.testing.assert_array_equal(np.frombuffer(rest, ">f8", 12).reshape(4, 3), BODY.vertices * 2)


@pytest.mark.parametrize(("name", "count"), [("two words", 4), ("short", 3)])
def test_a_field_that_does_not_fit_is_refused(tmp_path, name, count):
    with pytest.raises(InputError, match="without blanks"):
        vtk.write(tmp_path / "a.vtk", BODY, {name: np.zeros(count)})
    assert not list(tmp_path.iterdir())
