"""Every law has somebody who asks it, and something that holds it."""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

import pytest

import callgraph

HERE = Path(__file__).parent


def cases():
    for path in sorted(HERE.glob("*.toml")):
        page = tomllib.loads(path.read_text(encoding="utf-8"))
        yield from ({"law": page.get("law")} | entry for entry in page["case"])


def called_in(value):
    """Laws that a case calls on the way to what it gives."""
    if isinstance(value, dict):
        yield from (value["of"],) if "of" in value else ()
        value = list(value.values())
    if isinstance(value, list):
        for entry in value:
            yield from called_in(entry)


@pytest.mark.slow
def test_every_law_with_a_figure_is_asked_by_line_desk_or_station():
    """A figure of a law that nothing asks says nothing of any plan: give the law a caller, or delete it."""
    laws = {case["law"].removeprefix("sagger.") for case in cases()}
    assert sorted(laws - set(callgraph.program())) == []  # all are known to the graph
    assert sorted(law for law in laws if not callgraph.asked(law)) == []


@pytest.mark.slow
def test_every_law_that_a_step_stands_on_is_held_from_outside_or_by_nature():
    """By a case here, by a test in tests/nature, or by one marked `outside` or `nature`."""
    figures = {name for case in cases() for name in (case["law"], *called_in(case["given"]))}
    known = {name.removeprefix("sagger.") for name in figures} | set(callgraph.held())
    assert [law for law in callgraph.asked_laws() if law not in known] == []
    assert len(callgraph.asked_laws()) > 150  # the graph sees the steps


def graph(**modules):
    trees = {name.replace("__", "."): ast.parse(text) for name, text in modules.items()}
    return callgraph.graph(trees)


def test_the_graph_follows_imports_aliases_tables_and_first_pages():
    found = graph(
        laws="from laws.heat import warm\n",
        laws__heat="def warm(): return _cold()\ndef _cold(): ...\nTABLE = {'a': warm}\n",
        step="import laws\nfrom laws import heat as hot, warm as w\n"
        "def one(): return hot.warm()\ndef two(): return w()\ndef three(): return laws.heat\n"
        "def four():\n    from laws.heat import TABLE\n    return TABLE\n",
    )
    assert found["step:one"] >= {"laws.heat:warm"} and found["step:two"] == {"laws.heat:warm"}
    assert found["step:four"] == {"laws.heat:TABLE"} and found["laws.heat:TABLE"] == {"laws.heat:warm"}
    reached = callgraph.reached_from(["step:one"], found)
    assert "laws.heat:_cold" in reached and "laws.heat:TABLE" not in reached


def test_a_name_of_a_functions_own_is_not_the_law_of_that_name():
    found = graph(
        laws="def speed(): ...\ndef pace(speed): return speed\ndef rate():\n    speed = 1\n    return speed\n"
        "def sum_(): return [speed for speed in (1, 2)]\ndef used(): return speed()\n"
    )
    assert found["laws:used"] == {"laws:speed"}
    assert not any(found[f"laws:{name}"] for name in ("pace", "rate", "sum_"))
