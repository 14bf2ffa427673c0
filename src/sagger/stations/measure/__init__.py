"""What came out against what was asked, and what to change next time."""

from sagger.stations.measure import bed_map
from sagger.stations.measure.against_drawing import judge_lines
from sagger.stations.measure.coupons import coupons
from sagger.stations.measure.gauge_study import study
from sagger.stations.measure.judge import compare, control, judge, size
from sagger.stations.measure.learn import learn
from sagger.stations.measure.learn_drawn import learn_drawn
from sagger.stations.measure.scan import lay
from sagger.stations.measure.scan_lines import lines_in_scan
from sagger.stations.measure.used_powder import noticed

EDITION = "1"

__all__ = [
    "EDITION",
    "bed_map",
    "compare",
    "control",
    "coupons",
    "judge",
    "judge_lines",
    "lay",
    "learn",
    "learn_drawn",
    "lines_in_scan",
    "noticed",
    "size",
    "study",
]
