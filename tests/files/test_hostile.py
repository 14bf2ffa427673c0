"""Broken and hostile files end in a sentence, in time and within the memory they were given."""

import io
import os
import struct
import time
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sagger.errors import PartFileError
from sagger.files import guarded, read_part
from sagger.files.reading import Wish
from sagger.geometry.surface import mesh

pytestmark = pytest.mark.slow

PARTS = Path(__file__).parents[3] / "shared" / "parts"
STL = trimesh.creation.icosphere(2, 10).export(file_type="stl")
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
RELS = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Id="r" Target="/m" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)
MESH = (
    '<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/>'
    '<vertex x="0" y="0" z="1"/></vertices><triangles><triangle v1="0" v2="2" v3="1"/>'
    '<triangle v1="0" v2="1" v3="3"/><triangle v1="1" v2="2" v3="3"/><triangle v1="0" v2="3" v3="2"/>'
    "</triangles></mesh>"
)


def package(model, **more):
    """A 3MF package with this model and further entries."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in ({"_rels/.rels": RELS, "m": model} | more).items():
            package.writestr(name, text)
    return packed.getvalue()


def model(resources, build, attributes=""):
    return (
        f'<model xmlns="{CORE}" {attributes}><resources>{resources}</resources><build>{build}</build></model>'
    )


def nan_stl():
    data = bytearray(STL)
    data[96:100] = struct.pack("<f", np.nan)
    return bytes(data)


def deep(levels, fan):
    """Components that double at every level, with nothing at the bottom."""
    rows = ['<object id="0"><components/></object>']
    for level in range(1, levels):
        inner = f'<component objectid="{level - 1}"/>' * fan
        rows.append(f'<object id="{level}"><components>{inner}</components></object>')
    return model("".join(rows), f'<item objectid="{levels - 1}"/>')


def broken_deflate():
    """A package whose model was packed well and changed afterwards."""
    data = bytearray(package(SOUND))
    place = data.index(b"PK", data.index(b"PK", 4) + 4) - 60
    data[place : place + 40] = bytes(range(40))
    return bytes(data)


PLY = """ply
format ascii 1.0
comment a tetrahedron
element vertex 4
property float x
property float y
property float z
element face 4
property list uchar int vertex_indices
end_header
0 0 0
1 0 0
0 1 0
0 0 1
3 0 1 2
3 0 3 1
3 1 3 2
3 0 2 3
"""
SOUND = model(f'<object id="1">{MESH}</object>', '<item objectid="1"/>')
FLAT = model(f'<object id="1">{MESH}</object>', '<item objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"/>')
HOSTILE = {
    "random.stl": (np.random.default_rng(0).bytes(5000), "header promises"),
    "random.bin": (np.random.default_rng(1).bytes(5000), "no part file that can be read"),
    "empty.stl": (b"", "the file is empty"),
    "cut.stl": (STL[:-1000], "promises 320 triangles, the file holds 300"),
    "count.stl": (STL[:80] + b"\xff\xff\xff\xff" + STL[84:], "promises 4294967295"),
    "none.stl": (b"\0" * 84, "no triangles"),
    "nan.stl": (nan_stl(), "not finite"),
    "far.stl": (trimesh.creation.box((1, 1, 1e9)).export(file_type="stl"), "from the origin"),
    "flat.stl": (STL[:80] + struct.pack("<I12fH", 1, *[0] * 3, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0), "flat"),
    "word.stl": (b"solid a\nfacet\nvertex 1 two 3\n", "line 3"),
    "half.stl": (b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 1 2 3\n", "facets are begun"),
    "zip.3mf": (b"PK\x03\x04" + b"\0" * 100, "cannot be opened"),
    "cut.3mf": (package(SOUND)[:-60], "cannot be opened"),
    "bomb.3mf": (package(" " * 50_000_000), "times its size"),
    "path.3mf": (package(SOUND, **{"../../x": "x"}), "points outside"),
    "doctype.3mf": (package('<!DOCTYPE a [<!ENTITY b "c">]>' + SOUND), "document type"),
    "xml.3mf": (package(SOUND[:-30]), "its XML is broken"),
    "rels.3mf": (package(SOUND, **{"_rels/.rels": RELS.replace("/m", "/n")}), "is missing"),
    "nothing.3mf": (package(model(f'<object id="1">{MESH}</object>', "")), "places no solid"),
    "unknown.3mf": (package(SOUND.replace("<item objectid=\"1\"", '<item objectid="7"')), "does not exist"),
    "index.3mf": (package(SOUND.replace('v3="1"', 'v3="9"')), "names vertex 9, there are 4"),
    "number.3mf": (package(SOUND.replace('x="1"', 'x="one"')), "is no number"),
    "unit.3mf": (package(model("", "", 'unit="cubit"')), "unknown unit"),
    "slices.3mf": (
        package(model("", "", 'xmlns:s="urn:other" requiredextensions="s"')),
        "cannot be understood without an extension",
    ),
    "support.3mf": (package(SOUND.replace('id="1"', 'id="1" type="support"')), "which is no solid"),
    "deep.3mf": (package(deep(40, 10)), "places more than"),
    "self.3mf": (
        package(model('<object id="1"><components><component objectid="1"/></components></object>',
                      '<item objectid="1"/>')),
        "places more than",
    ),
    "squashed.3mf": (package(FLAT), "no thickness"),
    "words.obj": (b"v 1 2 3\nv 1 2 x\nf 1 2 3\n", "a vertex needs three numbers"),
    "points.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "there are no faces"),
    "count.ply": (
        b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\n"
        b"property float y\nproperty float z\nelement face 1\n"
        b"property list uchar int vertex_indices\nend_header\n",
        "more than the file has room for",
    ),
    "short.obj": (b"v 1 2 3\nv 1 2\nf 1 2 3\n", "line 2: a vertex needs three numbers"),
    "strange.obj": (b"v 1 2 3\nw 1 2 3\n", "line 2: this line says nothing that an OBJ file can say"),
    "ahead.obj": (b"v 1 2 3\nf 1 2 3\n", "line 2: this face names a vertex that is not there"),
    "weighed.obj": (b"v 1 2 3 0.5\n", "line 1: a vertex with a weight"),
    "curved.obj": (b"vp 1 2\n" + b"v 1 2 3\n", "line 1: this file holds curved surfaces"),
    "header.ply": (PLY.replace("property float y", "property float\xfc y").encode("latin-1"), "line 6"),
    "list.ply": (PLY.replace("property list", "propertyUlist").encode(), "line 9"),
    "endless.ply": (PLY.replace("end_header", "end").encode(), "its header has no end"),
    "row.ply": (PLY.replace("0 0 1", "0 0").encode(), "row 4: a vertex has too few"),
    "face.ply": (PLY.replace("3 0 1 2", "9 0 1 2").encode(), "row 1: a face has too few"),
    "named.ply": (PLY.replace("3 0 1 2", "3 0 1 7").encode(), "names a vertex that is not there; 4 are"),
    "more.ply": (PLY.encode() + b"1 2 3\n", "more rows than its header says"),
    "deflate.3mf": (broken_deflate(), "cannot be unpacked"),
    "words.step": (b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n#1=LINE(", "no solid could be read"),
    "bytes.step": (b"ISO-10303-21;" + np.random.default_rng(2).bytes(3000), "no solid could be read"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_with_a_sentence(tmp_path, name):
    data, what = HOSTILE[name]
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(PartFileError, match=what) as told:
        read_part(path, "mm")
    assert told.value.file == name
    assert told.value.remedy


def test_the_sound_package_these_are_made_from_is_read(tmp_path):
    (tmp_path / "a.3mf").write_bytes(package(SOUND))
    assert len(read_part(tmp_path / "a.3mf").shape.triangles) == 4


@pytest.mark.parametrize("form", ["obj", "ply", "binary.ply", "stl"])
def test_what_is_accepted_has_the_volume_that_a_second_reader_finds(tmp_path, form):
    solid = trimesh.creation.annulus(3, 7, 5, sections=24)
    path = tmp_path / f"ring.{form}"
    encoding = {"encoding": "ascii"} if form == "ply" else {}
    data = solid.export(file_type=path.suffix[1:], **encoding)
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    shape = read_part(path, "mm").shape
    assert mesh.volume(shape) == pytest.approx(solid.volume, rel=1e-5)


def test_a_notched_face_is_cut_into_what_it_covers(tmp_path):
    """An L of 3 squares, 1 high: its ends are faces of seven corners, and no fan covers them."""
    ring = [(0, 1), (0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)]
    lines = [f"v {x} {y} {z}" for z in (0, 1) for x, y in ring]
    count = len(ring)
    lines.append("f " + " ".join(str(k) for k in range(count, 0, -1)))
    lines.append("f " + " ".join(str(k + count) for k in range(1, count + 1)))
    for k in range(count):
        low, next_low = k + 1, (k + 1) % count + 1
        lines.append(f"f {low} {next_low} {next_low + count} {low + count}")
    (tmp_path / "l.obj").write_text("\n".join(lines) + "\n")
    shape = read_part(tmp_path / "l.obj", "mm").shape
    assert mesh.volume(shape) == pytest.approx(3.0)
    assert not len(mesh.open_edges(shape))
    flat = shape.vertices[shape.triangles]
    top = flat[(flat[:, :, 2] == 1).all(axis=1)]
    turned = np.cross(top[:, 1] - top[:, 0], top[:, 2] - top[:, 0])[:, 2]
    assert (turned >= 0).all()
    assert turned.sum() / 2 == pytest.approx(3.0)


def test_comments_in_any_encoding_are_passed_over(tmp_path):
    text = trimesh.creation.box((1, 2, 3)).export(file_type="obj")
    (tmp_path / "a.obj").write_bytes("# gr\xf6\xdfe\n".encode("latin-1") + text.encode())
    assert mesh.volume(read_part(tmp_path / "a.obj", "mm").shape) == pytest.approx(6.0)


@pytest.fixture
def long_step():
    path = PARTS / "nist_ftc_07_asme1_ap242-e2.stp"
    if not path.exists():
        pytest.skip("needs the part files beside the project")
    return path


def test_an_endless_reader_is_stopped(long_step):
    with pytest.raises(PartFileError, match=r"longer than 0\.2 s of processor time.*") as told:
        guarded.read("STEP", long_step, Wish(seconds=0.2))
    assert "--reading" in told.value.remedy


def test_a_reader_that_waits_for_others_is_not_stopped(tmp_path, monkeypatch):
    """Three seconds on a busy machine are no time of its own: two are allowed."""
    (tmp_path / "sitecustomize.py").write_text("import time\ntime.sleep(3)\n")
    trimesh.creation.box((3, 2, 1)).export(tmp_path / "box.stl")
    monkeypatch.setenv("PYTHONPATH", f"{tmp_path}:{os.environ.get('PYTHONPATH', '')}")
    began = time.monotonic()
    (body,) = guarded.read("STL", tmp_path / "box.stl", Wish(seconds=2)).bodies
    assert time.monotonic() - began > 3 and mesh.volume(body.shape) == pytest.approx(6.0)


def test_a_greedy_reader_is_stopped(long_step):
    with pytest.raises(PartFileError, match=r"memory|crashed|cannot go on"):
        guarded.read("STEP", long_step, memory=350 << 20)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_a_step_file_with_bytes_changed_is_read_or_refused(long_step, tmp_path, seed):
    rng, data = np.random.default_rng(seed), bytearray(long_step.read_bytes())
    for place in rng.integers(0, len(data), 200):
        data[place] = rng.integers(32, 127)
    (tmp_path / "changed.step").write_bytes(data)
    try:
        assert len(read_part(tmp_path / "changed.step").shape.triangles)
    except PartFileError as told:
        assert told.remedy
