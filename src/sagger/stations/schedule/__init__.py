"""When each print, heat, bench work and load of a cell begins, and on which machine."""

from sagger.stations.schedule.begun import BegunCell, begun
from sagger.stations.schedule.checked import faults
from sagger.stations.schedule.gathered import attended, monday, workload, written
from sagger.stations.schedule.in_words import planned_builds
from sagger.stations.schedule.planned import plan
from sagger.stations.schedule.standing import before, nothing
from sagger.stations.schedule.worth import order_ends, worth

EDITION = "1"

__all__ = [
    "EDITION",
    "BegunCell",
    "attended",
    "before",
    "begun",
    "faults",
    "monday",
    "nothing",
    "order_ends",
    "plan",
    "planned_builds",
    "workload",
    "worth",
    "written",
]
