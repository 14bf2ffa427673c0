"""`sagger check` on files that nobody here drew, and on files that mean harm."""

import json
import zipfile

import numpy as np
import pytest

pytestmark = pytest.mark.slow

FILES = [
    "angle_block.STL",
    "busted.STL",
    "counterXP.3MF",
    "featuretype.3MF",
    "featuretype.STEP",
    "featuretype.STL",
    "idler_riser.STL",
    "nist_ctc_01_asme1_ap242-e1.stp",
    "nist_ftc_07_asme1_ap242-e2.stp",
    "plate_holes.STL",
]


@pytest.mark.parametrize("name", FILES)
def test_every_part_gets_findings_and_never_a_traceback(shop, shared_part, name):
    said = json.loads(shop.say("check", shared_part(name), "--json", code=(0, 3)))  # made, or stopped
    (part,) = said["parts"]
    assert part["volume_mm3"] > 0
    assert {"unit", "open mesh", "thin wall", "narrow gap", "trapped powder", "too big for box"} <= {
        finding["what"] for finding in part["findings"]
    }


def test_sheets_that_cross_in_the_corner_of_a_fillet_are_no_wall(shop, shared_part):
    """At this scale 0.003 mm2 lie within 0.1 um of what they run through; the next wall is 0.9 mm."""
    part = shared_part("nist_ftc_07_asme1_ap242-e2.stp")
    (told,) = json.loads(shop.say("check", part, "--scale", "0.3", "--json", code=(0, 3)))["parts"]
    (wall,) = [finding for finding in told["findings"] if finding["what"] == "thin wall"]
    assert wall["level"] == "look" and 0.85 < wall["value"] < 0.95


def _bomb(path):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", b"\0" * 300_000_000)


def _escape(path):
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("../../outside.model", b"<model/>")


HOSTILE = {
    "random.stl": lambda path: path.write_bytes(np.random.default_rng(1).bytes(5000)),
    "random.3mf": lambda path: path.write_bytes(np.random.default_rng(2).bytes(5000)),
    "random.step": lambda path: path.write_bytes(np.random.default_rng(3).bytes(5000)),
    "cut.stl": lambda path: path.write_bytes(b"\0" * 80 + (10**9).to_bytes(4, "little") + b"\0" * 500),
    "nan.stl": lambda path: path.write_bytes(
        b"\0" * 80 + (4).to_bytes(4, "little") + (np.full(12, np.nan, "<f4").tobytes() + b"\0\0") * 4
    ),
    "empty.stl": lambda path: path.write_bytes(b""),
    "bomb.3mf": _bomb,
    "escape.3mf": _escape,
    "endless.step": lambda path: path.write_text(
        "ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n" + "#1=CARTESIAN_POINT('',(0.,0.,0.));\n" * 200_000
    ),
    "order.toml": lambda path: path.write_text("part = 7"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_broken_or_hostile_file_is_refused_with_a_sentence(shop, tmp_path, name):
    HOSTILE[name](tmp_path / name)
    said = json.loads(shop.say("check", tmp_path / name, "--json", code=2, timeout=60))
    (refused,) = said["refused"]
    assert name in refused["why"]
    assert len(refused["why"]) > 30
