"""Every reproducer of an attack, read again: refused in a sentence of ours, or as a second method has it."""

from pathlib import Path

import manifold3d
import numpy as np
import pytest

from sagger.errors import InputError, PartFileError
from sagger.files import coupons, guarded, lot, order, read_part, thermobalance
from sagger.files.reading import Wish
from sagger.geometry.surface import mesh
from sagger.geometry.surface.heal import heal

HOSTILE = Path(__file__).parents[3] / "shared" / "hostile"
LIBRARY = ("Traceback", "Error:", "Exception", "field larger", "recursion", "trimesh", "numpy", "broke off")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not HOSTILE.is_dir(), reason="needs the reproducers beside the project"),
]
REFUSED = {
    "coupons-long-cell.csv": (coupons.coupons, "this is no row of a table"),
    "lot-deep.toml": (lot.read, "within one another"),
    "order-deep.toml": (order.tables, "within one another|is not TOML"),
    "short-vertex.obj": (lambda path: read_part(path, "mm"), "line 1"),
    "two-number-vertex.obj": (lambda path: read_part(path, "mm"), "line"),
    "strange-header.ply": (lambda path: read_part(path, "mm"), "line 6"),
    "strange-list.ply": (lambda path: read_part(path, "mm"), "line 9"),
    "thermobalance-long-cell.csv": (thermobalance.read, "this is no row of a table"),
    "endless.step": (
        lambda path: guarded.read("STEP", path, Wish(seconds=2)),
        "processor time|could be read",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_reproducer_is_refused_in_a_sentence_of_ours(name):
    read, what = REFUSED[name]
    with pytest.raises(InputError, match=what) as told:
        made = read(HOSTILE / name)
        list(made[0]) if isinstance(made, tuple) else made
    said = str(told.value)
    assert name in said and not [word for word in LIBRARY if word in said], said


def union(shape):
    """Volume of two bodies of equally many triangles together, by another library's booleans."""
    half = len(shape.triangles) // 2
    bodies = []
    for triangles in (shape.triangles[:half], shape.triangles[half:]):
        used, renumbered = np.unique(triangles, return_inverse=True)
        flat = manifold3d.Mesh(
            shape.vertices[used].astype(np.float32), renumbered.reshape(-1, 3).astype(np.uint32)
        )
        bodies.append(manifold3d.Manifold(flat))
    return (bodies[0] + bodies[1]).volume()


@pytest.mark.parametrize(
    ("name", "volume"),
    [("overlap-on-diagonal.stl", 3030), ("overlap-rotated.stl", 2854.296)],  # by half-spaces, too
)
def test_what_overlaps_is_counted_once_as_a_second_method_does(name, volume):
    """Volumes by half-spaces as well, to seven digits."""
    shape = read_part(HOSTILE / name, "mm").shape
    assert mesh.volume(heal(shape).shape) == pytest.approx(volume, abs=0.001)
    assert mesh.volume(heal(shape).shape) == pytest.approx(union(shape), rel=1e-5)


def test_a_comment_in_latin_1_is_passed_over():
    assert mesh.volume(read_part(HOSTILE / "latin1-comment.obj", "mm").shape) == pytest.approx(20 * 12 * 8)


@pytest.mark.parametrize("name", ["needle.stl", "nanometre.stl"])
def test_a_size_that_no_part_has_is_read_and_left_to_the_check(name):
    try:
        assert len(read_part(HOSTILE / name, "mm").shape.triangles) == 12
    except PartFileError as told:
        assert told.remedy
