"""Broken and hostile files end in a sentence, in time and within the memory they were given."""

import io
import struct
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sagger.errors import PartFileError
from sagger.files import guarded, read_part

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
    "words.obj": (b"v 1 2 3\nv 1 2 x\nf 1 2 3\n", "OBJ reader broke off"),
    "points.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "there are no faces"),
    "count.ply": (
        b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\n"
        b"property float y\nproperty float z\nelement face 1\n"
        b"property list uchar int vertex_indices\nend_header\n",
        "PLY reader broke off",
    ),
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


@pytest.fixture
def long_step():
    path = PARTS / "nist_ftc_07_asme1_ap242-e2.stp"
    if not path.exists():
        pytest.skip("needs the part files beside the project")
    return path


def test_an_endless_reader_is_stopped(long_step):
    with pytest.raises(PartFileError, match=r"takes longer than 0\.2 s"):
        guarded.read("STEP", long_step, seconds=0.2)


def test_a_greedy_reader_is_stopped(long_step):
    with pytest.raises(PartFileError, match=r"memory|broke off"):
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
