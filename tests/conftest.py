"""Makes what several rooms of tests use importable by name (tests are no package); tells what was skipped."""

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))  # for browsing, soaking, job_goods, …

LONGEST = ("browser", "whole")  # rooms whose modules take longest


def pytest_collection_modifyitems(items):
    """The longest modules come first, so that no worker is left alone with one at the end; rooms by turns.

    Two workers take modules in this order: so a browser seldom shares the machine with another one.
    """
    turns, last = {room: {} for room in LONGEST}, (len(items), 0)  # a list that is being sorted has no length
    for item in items:
        if (room := item.path.parent.name) in turns:
            turns[room].setdefault(item.path, len(turns[room]))

    def turn(item):
        room = item.path.parent.name
        return (turns[room][item.path], LONGEST.index(room)) if room in turns else last

    items.sort(key=turn)


def pytest_terminal_summary(terminalreporter):
    """What was not tested here, and why, in one line."""
    reports = terminalreporter.stats.get("skipped", [])
    reasons = Counter(report.longrepr[2].removeprefix("Skipped: ") for report in reports)
    if reasons:
        terminalreporter.write_line(
            "skipped: " + "; ".join(f"{count} × {reason}" for reason, count in reasons.most_common())
        )
