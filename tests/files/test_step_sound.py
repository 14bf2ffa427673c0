"""A STEP file whose solid stands on something damaged is refused, whatever a library makes of it."""

import re
from pathlib import Path

import numpy as np
import pytest

import step_files
from sagger.errors import PartFileError
from sagger.files import read_part, step_sound
from sagger.files.part21 import Text

TEXT = step_files.bodies([("plate", (0, 0, 0), (20, 10, 5))])
POINT = re.search(r"#(\d+)=CARTESIAN_POINT\('',\(20\.0,10\.0,5\.0\)\);", TEXT)
AT = f"#{POINT[1]}"
DAMAGE = {
    "lost": (POINT[0], "", "is not in the file"),
    "garbled": ("(20.0,10.0,5.0)", "(20.0T.,10.0,5.0)", "cannot be read"),
    "cut": ("(20.0,10.0,5.0));", "(20.0,10.0,5.0);", "cannot be read"),
    "said twice": (POINT[0], f"{POINT[0]}\n{POINT[0].replace('20.0', '25.0')}", "says two things"),
}


@pytest.mark.parametrize("case", DAMAGE)
def test_a_solid_that_stands_on_something_damaged_is_refused_with_its_number(tmp_path, case):
    was, now, what = DAMAGE[case]
    assert TEXT.count(was) == 1
    (tmp_path / "plate.step").write_text(TEXT.replace(was, now))
    with pytest.raises(PartFileError, match=f"stands on {AT}, which .*{what}") as told:
        read_part(tmp_path / "plate.step", "")
    assert "plate.step" in str(told.value) and "export it again" in str(told.value)


def test_what_no_solid_stands_on_may_be_damaged(tmp_path):
    (tmp_path / "plate.step").write_text(
        TEXT.replace("ENDSEC;\nEND-", "#9002=DIRECTION('',(0.,0.T.,#9999));\nENDSEC;\nEND-")
    )
    np.testing.assert_allclose(
        np.ptp(read_part(tmp_path / "plate.step", "").shape.vertices, axis=0), (20, 10, 5)
    )


def test_the_same_thing_said_twice_is_one():
    step_sound.refuse_damaged(Text(TEXT.replace(POINT[0], f"{POINT[0]}\n{POINT[0]}")), "plate.step")


@pytest.mark.skipif(
    not (Path(__file__).parents[3] / "shared" / "parts").is_dir(), reason="needs the part files"
)
def test_files_that_nobody_here_drew_are_sound():
    paths = [
        path
        for path in (Path(__file__).parents[3] / "shared" / "parts").iterdir()
        if path.suffix.lower() in (".stp", ".step")
    ]
    for path in paths:
        step_sound.refuse_damaged(Text(path.read_bytes().decode("latin-1")), path.name)
    assert paths
