import numpy as np
import pytest

from sagger.errors import InputError
from sagger.files import ovenrun

ROWS = [f"{minute},{25 + 10 * minute},{25 + minute}" for minute in range(12)]


def written(tmp_path, heading="time_min,oven_degC,core_degC", rows=ROWS):
    path = tmp_path / "run.csv"
    path.write_text("\n".join([heading, *rows]) + "\n")
    return path


def test_a_run_is_read_in_si(tmp_path):
    run = ovenrun.read(written(tmp_path))
    np.testing.assert_allclose(run.time, 60.0 * np.arange(12), rtol=1e-12)
    np.testing.assert_allclose([run.oven[1], run.core[1]], [308.15, 299.15], rtol=1e-12)


def test_time_begins_at_zero_in_any_unit(tmp_path):
    rows = [f"{2 + 0.5 * n},200,{20 + n}" for n in range(12)]
    run = ovenrun.read(written(tmp_path, "time_h,oven_degC,core_degC", rows))
    np.testing.assert_allclose(run.time[[0, 1]], [0.0, 1800.0], rtol=1e-12)


@pytest.mark.parametrize(
    ("heading", "rows", "says"),
    [
        ("time,oven_degC,core_degC", ROWS, "one column of times"),
        ("time_min,oven_degC,powder", ROWS, "column 'core_degC' is missing"),
        ("time_min,oven_degC,core_degC", ROWS[:5], "10 rows or more"),
        ("time_min,oven_degC,core_degC", [*ROWS, "3,200,90"], "line 14.*times of a run must rise"),
        ("time_min,oven_degC,core_degC", [*ROWS, "30,hot,90"], "line 14, column oven_degC.*number"),
    ],
)
def test_a_table_that_is_no_run_is_refused(tmp_path, heading, rows, says):
    with pytest.raises(InputError, match=says):
        ovenrun.read(written(tmp_path, heading, rows))
