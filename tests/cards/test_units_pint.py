"""The unit table against pint, a general-purpose unit library."""

import re

import numpy as np
import pytest

from sagger.units import UNITS

pint = pytest.importorskip("pint")
COUNTS = [word for word, unit in UNITS.items() if unit.kind == "count"]
SPELT = {
    "%": "percent", "wt": "percent", "vol": "percent", "cur": "dimensionless", "kWh": "kilowatt*hour",
    "min": "minute", "h": "hour", "d": "day", "in": "inch", "deg": "degree", "gal": "gallon", "L": "liter",
    "dpi": "(1/inch)",
}  # fmt: skip


def theirs(word):
    """Our unit word in pint's spelling: W/m2.K becomes W/(m**2*K)."""
    if word == "-":
        return "dimensionless"
    text = re.sub(r"([A-Za-z]+)([23]?)%?|%", lambda part: _token(part[1] or "%", part[2] or ""), word)
    above, _, below = text.replace(".", "*").partition("/")
    return f"{above}/({below})" if below else above


def _token(name, power):
    return f"{SPELT.get(name, name)}**{power}" if power else SPELT.get(name, name)


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.slow
@pytest.mark.parametrize("word", [word for word in UNITS if word not in COUNTS])
def test_a_unit_of_ours_is_pints(registry, word):
    ours, wanted = UNITS[word], registry.Quantity(1.0, theirs(word)).to_base_units()
    np.testing.assert_allclose(ours.factor + ours.offset, wanted.magnitude, rtol=1e-12)


@pytest.mark.parametrize("kind", sorted({unit.kind for unit in UNITS.values()} - {"count"}))
def test_units_of_one_kind_measure_one_thing(registry, kind):
    words = [word for word, unit in UNITS.items() if unit.kind == kind]
    things = {registry.Quantity(1.0, theirs(word)).to_base_units().units for word in words}
    assert len({str(thing.dimensionality) for thing in things}) == 1


def test_counts_count_one_by_one():
    assert {UNITS[word].factor for word in COUNTS} == {1.0}
