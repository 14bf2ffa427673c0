"""Makes what several rooms of tests use importable by name (tests are no package); tells what was skipped."""

import importlib.util
import sys
from collections import Counter
from pathlib import Path

HAND_MADE = (
    "aside",
    "callgraph",
    "cell_goods",
    "exact_block",
    "furnace_goods",
    "furnace_shapes",
    "job_goods",
    "page_text",
    "promise_shop",
    "records",
    "visitor",
)

for _name in HAND_MADE:
    _spec = importlib.util.spec_from_file_location(_name, Path(__file__).with_name(f"{_name}.py"))
    sys.modules[_name] = importlib.util.module_from_spec(_spec)
    _spec.loader.exec_module(sys.modules[_name])

LONGEST_FIRST = ("whole", "browser")  # so that no worker is left alone with a long module at the end


def pytest_collection_modifyitems(items):
    """Rooms whose modules take longest come first; within a room the order stays."""
    items.sort(key=lambda item: item.path.parent.name not in LONGEST_FIRST)


def pytest_terminal_summary(terminalreporter):
    """What was not tested here, and why, in one line."""
    reports = terminalreporter.stats.get("skipped", [])
    reasons = Counter(report.longrepr[2].removeprefix("Skipped: ") for report in reports)
    if reasons:
        terminalreporter.write_line(
            "skipped: " + "; ".join(f"{count} × {reason}" for reason, count in reasons.most_common())
        )
