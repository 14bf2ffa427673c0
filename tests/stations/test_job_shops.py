"""Published job shops, out of the parts that the cell's model is made of.

Source: instances and optima as collected by the job shop literature (Fisher and Thompson 1963; Lawrence
1984); the table lies beside the project and the test is skipped without it.
"""

import json
from pathlib import Path

import pytest

from sagger.stations.schedule.solver import alternative, new_model, solved

TABLE = Path(__file__).parents[3] / "shared" / "bench" / "jsp.json"


def shortest(machines, durations, work, workers=1):
    """Shortest time in which all jobs are done, each through its machines in turn."""
    model = new_model()
    last = sum(map(sum, durations))
    busy, done = {}, model.new_int_var(0, last, "")
    for row, lengths in zip(machines, durations, strict=True):
        before = 0
        for machine, length in zip(row, lengths, strict=True):
            start = model.new_int_var(0, last, "")
            task, intervals = alternative(model, start, [(machine, length)], last)
            busy.setdefault(machine, []).append(intervals[0])
            model.add(start >= before)
            before = task.end
        model.add(done >= before)
    for intervals in busy.values():
        model.add_no_overlap(intervals)
    model.minimize(done)
    return solved(model, work, workers=workers)


@pytest.mark.slow
@pytest.mark.skipif(not TABLE.exists(), reason="no table of job shops beside the project")
@pytest.mark.parametrize("name", ["ft06", "la01", "la02", "la03", "la04", "la05"])
def test_published_job_shops(name):
    row = json.loads(TABLE.read_text())[name]
    found = shortest(row["machines_matrix"], row["duration_matrix"], 10.0)
    assert found.proven and found.value == row["metadata"]["optimum"]
