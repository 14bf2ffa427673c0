"""Parts can be told apart by everyone."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from sagger.views.pictures.palette import LEVEL_COLOURS, PARTS, RAMP, SPREAD, colour, letter, web

# Linear RGB as seen without one kind of cone: Machado, Oliveira, Fernandes 2009 (IEEE TVCG 15:1291), Table 1,
# severity 1.0; the matrices from memory.
SIGHT = {
    "full": np.eye(3),
    "no long cones": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "no middle cones": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.01182, 0.04294, 0.968881],
    ],
    "no short cones": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.3039],
    ],
}
# IEC 61966-2-1 (sRGB, white D65)
XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def lab(rgb: tuple[int, int, int], seen: np.ndarray) -> np.ndarray:
    """CIELAB (CIE 15) of a screen colour as a kind of sight has it."""
    level = np.asarray(rgb) / 255
    linear = np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4)
    ratio = XYZ @ np.clip(seen @ linear, 0, 1) / XYZ.sum(axis=1)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / 3 * (29 / 6) ** 2 + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("sight", SIGHT)
def test_eight_colours_stay_apart_for_every_kind_of_sight(sight: str) -> None:
    seen = [lab(rgb, np.asarray(SIGHT[sight])) for rgb in PARTS]
    nearest = min(np.linalg.norm(a - b) for a, b in itertools.combinations(seen, 2))
    assert nearest > 25  # about ten times what is just seen (2.3, Mahy 1994; from memory)


def test_the_first_three_differ_in_grey() -> None:
    grey = sorted(lab(rgb, np.eye(3))[0] for rgb in PARTS[:3])
    assert min(np.diff(grey)) > 15


def test_letters_go_on_after_z() -> None:
    assert [letter(part) for part in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]


def test_colours_come_again_and_read_as_web_colours() -> None:
    assert colour(8) == colour(0)
    assert web(0) == "#eeac1f"


def levels(text: str) -> tuple[int, int, int]:
    return tuple(int(text[at : at + 2], 16) for at in (1, 3, 5))  # type: ignore[return-value]


@pytest.mark.parametrize("sight", SIGHT)
def test_a_ramp_rises_in_lightness_for_every_kind_of_sight(sight: str) -> None:
    light = [lab(levels(text), np.asarray(SIGHT[sight]))[0] for text in RAMP]
    assert min(np.diff(light)) > 8


@pytest.mark.parametrize("sight", SIGHT)
def test_both_ends_of_a_spread_are_dark_and_differ(sight: str) -> None:
    seen = [lab(levels(text), np.asarray(SIGHT[sight])) for text in SPREAD]
    light = [each[0] for each in seen]
    assert min(np.diff(light[:4])) > 8 and max(np.diff(light[3:])) < -8
    assert np.linalg.norm(seen[0] - seen[-1]) > 25 and np.linalg.norm(seen[1] - seen[-2]) > 25


@pytest.mark.parametrize("sight", SIGHT)
def test_levels_of_findings_stay_apart(sight: str) -> None:
    seen = [lab(levels(text), np.asarray(SIGHT[sight])) for text in LEVEL_COLOURS.values()]
    assert min(np.linalg.norm(a - b) for a, b in itertools.combinations(seen, 2)) > 25
    assert min(np.diff(sorted(each[0] for each in seen))) > 10
