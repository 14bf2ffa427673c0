"""Unit words at the edge, compared with an independent unit library (pint)."""

import numpy as np
import pint
import pytest

from sagger import units
from sagger.errors import InputError

PINT = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
SPELLED = {
    "-": "",
    "%": "percent",
    "%/min": "percent/min",
    "um": "micrometer",
    "g/cm3": "g/cm**3",
    "kg/m3": "kg/m**3",
    "pL": "picoliter",
}
SAME = (
    "m",
    "cm",
    "mm",
    "nm",
    "s",
    "min",
    "h",
    "kPa",
    "MPa",
    "GPa",
    "kHz",
    "kJ",
    "kJ/mol",
    "K/min",
    "mN/m",
    "deg",
    "L",
)


@pytest.mark.parametrize("word", [*SPELLED, *SAME])
def test_factors_agree_with_pint(word):
    theirs = PINT.Quantity(1.0, SPELLED.get(word, word)).to_base_units()
    if units.unit(word).kind == "molar_mass":
        theirs = theirs.to("kg/mol")
    np.testing.assert_allclose(units.unit(word).factor, theirs.m_as(_si(theirs)), rtol=1e-12)


def _si(quantity):
    return quantity.to_base_units().units


def test_temperature_has_an_offset_and_a_difference_has_none():
    assert units.read("20 °C", "temperature") == 293.15
    np.testing.assert_allclose(units.span("6 degC", "temperature"), 6.0, rtol=1e-12)
    np.testing.assert_allclose(units.into(453.15, "degC"), 180.0, rtol=1e-12)


@pytest.mark.parametrize("text", ["7.95", "g/cm3", "7.95 furlong", "7.95 mm", "", "1e400 x"])
def test_what_is_no_density_is_refused(text):
    with pytest.raises(InputError):
        units.read(text, "density")


def test_an_unknown_unit_is_answered_with_those_that_fit_and_a_comma_with_a_point():
    with pytest.raises(InputError, match="no unit is called 'mil'") as told:
        units.read("5 mil", "length")
    assert told.value.remedy == "Units that fit: m, cm, mm, um, nm, in."
    with pytest.raises(InputError, match="decimal point") as told:
        units.read("0,2 mm", "length")
    assert "0.2 mm" in told.value.remedy
