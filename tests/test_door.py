"""The names that `import sagger` gives: listed, light, typed, and as the manual shows them."""

from __future__ import annotations

import ast
import dataclasses
import doctest
import importlib.util
import inspect
import re
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pytest
from _pytest.mark import ParameterSet

import sagger
from sagger.desk.measuring import approvals, typed_conditions

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "python.md"
OPTIONS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
FUNCTIONS = [name for name in sagger.__all__ if inspect.isfunction(getattr(sagger, name))]
SLOW = {"A whole job", "Longer work", "check", "score"}  # parts are looked at, or a job is planned


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """An empty home, in a folder from which the examples can be seen."""
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    monkeypatch.chdir(tmp_path)


def shows(text: str, name: str) -> None:
    """Nothing if every example in the text gives what stands below it."""
    example = doctest.DocTestParser().get_doctest(text, {"sagger": sagger}, name, str(PAGE), 0)
    told: list[str] = []
    failed = doctest.DocTestRunner(optionflags=OPTIONS).run(example, out=told.append).failed
    assert example.examples and not failed, "".join(told)


def sections() -> dict[str, str]:
    """The examples of the page by heading."""
    parts = PAGE.read_text("utf-8").split("\n## ")
    found = {part.partition("\n")[0]: re.findall(r"```pycon\n(.*?)```", part, re.S) for part in parts}
    return {head: "".join(blocks) for head, blocks in found.items() if blocks}


def marked(names: Iterable[str]) -> list[ParameterSet]:
    return [pytest.param(name, marks=[pytest.mark.slow] if name in SLOW else []) for name in names]


def test_what_is_listed_is_there_and_what_is_there_is_listed():
    tree = ast.parse(inspect.getsource(sagger))
    block = next(each for each in tree.body if isinstance(each, ast.If))
    typed = {name.asname for each in block.body for name in each.names}
    assert sagger.__all__ == sorted(typed)
    assert all(getattr(sagger, name) is not None for name in sagger.__all__)
    with pytest.raises(AttributeError, match="nothing_of_the_kind"):
        sagger.nothing_of_the_kind  # noqa: B018


def test_the_page_lists_every_name_and_no_other():
    head = PAGE.read_text("utf-8").partition("\n## ")[0]
    rows = [row.split("|")[1] for row in head.splitlines() if row.startswith("| `")]
    listed = {re.match(r"\w+", name)[0] for row in rows for name in re.findall(r"`([^`]+)`", row)}
    assert listed == set(sagger.__all__)


def test_importing_it_loads_nothing_heavy():
    heavy = ("numpy", "pydantic", "sagger.desk", "sagger.line")
    code = f"import sys, sagger; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_other_peoples_type_checkers_are_told_that_it_is_typed():
    assert (ROOT / "src" / "sagger" / "py.typed").exists()
    for name in FUNCTIONS:
        signature = inspect.signature(getattr(sagger, name))
        told = [each.annotation for each in signature.parameters.values()] + [signature.return_annotation]
        assert inspect.Parameter.empty not in told, name


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_function_says_what_it_gives_takes_and_refuses(name):
    told = inspect.getdoc(getattr(sagger, name))
    assert {"Parameters", "Raises"} <= set(told.splitlines())


@pytest.mark.slow
@pytest.mark.parametrize("name", marked(name for name in FUNCTIONS if ">>>" in getattr(sagger, name).__doc__))
def test_the_examples_of_a_function_give_what_they_show(shop, name):
    shows(inspect.getdoc(getattr(sagger, name)), name)


def test_a_changed_card_gives_what_it_shows(shop):
    shows(inspect.getdoc(sagger.cards.changed), "changed")


@pytest.mark.slow
@pytest.mark.parametrize("head", marked(sections()))
def test_the_page_gives_what_it_shows(shop, head):
    shows(sections()[head], head)


def test_the_picture_of_the_study_is_what_its_script_draws(shop):
    """If this fails: `python docs/pictures/oversize.py` draws it anew; then look at it."""
    spec = importlib.util.spec_from_file_location("oversize", ROOT / "docs" / "pictures" / "oversize.py")
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    assert script.chart(script.study()) == (ROOT / "docs" / "pictures" / "oversize.svg").read_text("utf-8")


@pytest.mark.slow
def test_approved_factors_go_before_those_of_the_card(shop):
    before = sagger.factors("steel-316l")
    np.testing.assert_array_equal(before.k, sagger.oversize(sagger.card("powder", "steel-316l")).k)
    typed = typed_conditions.factors("steel-316l", (1.2, 1.21, 1.22), (0.001, 0.001, 0.001))
    approvals.approve(typed, "A. Person", "12 coupons")
    np.testing.assert_array_equal(sagger.factors("steel-316l").k, [1.2, 1.21, 1.22])


def test_a_part_that_shrinks_evenly_keeps_its_mass():
    powder = sagger.card("powder", "steel-316l")
    for field, value in (("anisotropy_y", "1 -"), ("anisotropy_z", "1 -"), ("green_density", "50 %")):
        powder = sagger.cards.changed(powder, f"sintering.{field}", value)
    k = sagger.oversize(powder).k
    np.testing.assert_allclose(k**3, powder.sintering.sintered_density.value / 0.5, rtol=1e-12)


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("sintering.gren_density", "50 %", "Nearest: green_density"),
        ("sintering.green_density", "50 mm", "is a unit of length"),
        ("title", "another", "this is no figure"),
        ("sintering.programme.rate", "5 K/min", "no figure of this name"),
    ],
)
def test_what_a_card_cannot_be_changed_to_is_refused_by_name(field, value, told):
    with pytest.raises(sagger.InputError, match=told):
        sagger.cards.changed(sagger.card("powder", "steel-316l"), field, value)


def test_a_changed_figure_keeps_its_doubt_and_says_that_it_was_assumed():
    oven = sagger.cards.changed(sagger.card("oven", "box-oven"), "temperature", "230 degC", u="5 K")
    np.testing.assert_allclose([oven.temperature.value, oven.temperature.u], [503.15, 5.0], rtol=1e-12)
    assert (oven.temperature.standing, oven.temperature.printed) == ("assumed", "230 degC")


@pytest.mark.slow
def test_one_part_that_cannot_be_made_stops_the_check(shop):
    looked = sagger.check("examples/parts/insulator-bush.stl", unit="mm", scale=12.0)
    fine = sagger.check("examples/parts/insulator-bush.stl", unit="mm")
    assert (looked.stopped, fine.stopped) == (True, False)
    assert dataclasses.replace(looked, parts=(*fine.parts, *looked.parts)).stopped
    assert [part["name"] for part in fine.documents] == ["insulator-bush"]
