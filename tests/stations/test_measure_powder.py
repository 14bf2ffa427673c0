"""Used powder is told when it is beyond what its card allows."""

import dataclasses

import numpy as np
import pytest

from sagger import cards
from sagger.goods.figure import Figure
from sagger.goods.lot import Lot, SizeCurve
from sagger.goods.powder import Reuse
from sagger.stations import measure


def _figure(value):
    return Figure(value=value, u=0.0, printed=f"{value}", source="s", where="w", standing="measured")


@pytest.fixture
def powder():
    limits = Reuse(
        most_builds=_figure(3.0), old_share=_figure(0.1), fines_lost=_figure(0.2), most_oxygen=_figure(1e-3)
    )
    return dataclasses.replace(cards.load("powder", "steel-316l"), reuse=limits, d10=_figure(8e-6))


def _lot(fines=0.09, exposures=(0.5, 0.3, 0.15, 0.05), oxygen=9e-4):
    curve = SizeCurve(
        size=np.array([4e-6, 8e-6, 40e-6]), finer=np.array([0.0, fines, 1.0]), method="laser diffraction"
    )
    return Lot(
        name="R1",
        powder="steel-316l",
        origin="recovered",
        curve=curve,
        exposures=np.array(exposures),
        oxygen=_figure(oxygen),
    )


def _levels(lot, powder, measured=("curve", "oxygen")):
    return {finding.what: finding.level for finding in measure.noticed(lot, powder, measured)}


def test_powder_within_its_limits_is_fine(powder):
    assert _levels(_lot(), powder) == {"old powder": "ok", "fines lost": "ok", "oxygen": "ok"}


@pytest.mark.parametrize(
    ("changed", "what"),
    [
        ({"exposures": (0.4, 0.3, 0.15, 0.1, 0.05)}, "old powder"),
        ({"fines": 0.079}, "fines lost"),
        ({"oxygen": 1.1e-3}, "oxygen"),
    ],
)
def test_powder_beyond_a_limit_wants_a_look_and_says_what_to_do(powder, changed, what):
    found = {finding.what: finding for finding in measure.noticed(_lot(**changed), powder, ("curve",))}
    assert found[what].level == "look" and found[what].remedy and found[what].source
    assert sum(finding.level == "look" for finding in found.values()) == 1


def test_a_curve_that_was_worked_out_says_nothing_of_lost_fines(powder):
    assert "fines lost" not in _levels(_lot(fines=0.02), powder, measured=())


def test_a_card_without_limits_finds_nothing(powder):
    assert measure.noticed(_lot(), dataclasses.replace(powder, reuse=None), ("curve",)) == ()
