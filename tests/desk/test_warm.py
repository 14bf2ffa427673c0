"""Kernels are compiled ahead, on every core, and a job on a machine where none is says so."""

import importlib
import inspect
import os
import threading

import numpy as np
import pytest

from sagger import compiled
from sagger.compiled import code
from sagger.desk.planning import signatures, warm
from sagger.tick import Tick

LIST = """\
# callees first

[example jobs]
geometry.tree.triangles.nearest_on_segment
  array(float64, 1, C), array(float64, 1, C), array(float64, 1, C)
geometry.pile.settling.above nowhere.to_be_found
  array(int32, 1, C), int64

[other jobs]
geometry.surface.shells._root
  array(int64, 1, C), array(bool, 1, C), int64
"""


@pytest.fixture
def empty(monkeypatch, tmp_path):
    """A machine on which nothing is compiled, with a short list of kernels."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr(warm, "LISTED", tmp_path / "list.txt")
    warm.LISTED.write_text(LIST)
    code.home.cache_clear(), code.folder.cache_clear()
    yield tmp_path
    code.home.cache_clear(), code.folder.cache_clear()


def test_a_list_is_read_callees_first_and_by_what_is_asked_for(empty):
    first, second = warm.listed()
    assert first == warm.ListedKernel(
        "geometry.tree.triangles.nearest_on_segment",
        (),
        ("array(float64, 1, C), array(float64, 1, C), array(float64, 1, C)",),
    )
    assert second.after == ("nowhere.to_be_found",)
    assert [kernel.name for kernel in warm.listed(everything=True)][2:] == ["geometry.surface.shells._root"]


@pytest.mark.slow
def test_the_list_is_of_todays_kernels():
    """`make kernels` writes it anew."""
    stale = [kernel.name for kernel in warm.listed(everything=True) if not _fits(kernel)]
    assert stale == []


def _fits(kernel):
    module, _, name = kernel.name.rpartition(".")
    try:
        function = getattr(importlib.import_module(f"sagger.{module}"), name).py_func
        taken = [signatures.read(takes) for takes in kernel.takes]
    except (ImportError, AttributeError):
        return False
    return all(len(types) == len(inspect.signature(function).parameters) for types in taken)


def test_a_compiler_that_dies_takes_only_its_kernel_with_it(monkeypatch, empty):
    dies = """
import sys
for line in sys.stdin:
    if "settling" in line:
        sys.exit(3)
    print("ready", flush=True)
"""
    monkeypatch.setattr(warm, "COMPILER", ["-c", dies])
    monkeypatch.setattr(warm, "_cores", lambda: 1)
    assert list(warm._compile(warm.listed(everything=True), lambda done: None)) == [True, False, True]


def test_a_machine_is_cold_until_the_list_was_gone_through(monkeypatch, empty):
    monkeypatch.setattr(warm, "_compile", lambda kernels, say: [False for _ in kernels])
    assert warm.cold() and warm.cold(everything=True)
    warm.warm()
    assert not warm.cold() and warm.cold(everything=True)
    warm.LISTED.write_text(LIST.replace("int64", "int32"))
    assert warm.cold()


@pytest.mark.slow
def test_a_cold_machine_says_how_far_it_is_and_keeps_what_it_compiled(empty):
    said = []
    tick = Tick(lambda doing, done, total: said.append((doing, done, total)), lambda: False)
    done = warm.warm(tick=tick)
    assert (done.kernels, done.ready) == (2, 1)  # the second takes other things than the list says
    assert said[0] == (compiled.DOING, 0, 2) and said[-1] == (compiled.DOING, 2, 2)
    assert [path.name.partition("-")[0] for path in empty.rglob("*.nbi")] == ["triangles.nearest_on_segment"]
    assert warm.warm(everything=True).ready == 2


def test_where_nothing_can_be_kept_no_job_waits_for_it(monkeypatch, empty):
    (empty / "file").write_text("")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(empty / "file" / "below"))
    code.home.cache_clear(), code.folder.cache_clear()
    assert not code.keeps() and not warm.cold()
    assert _sum()(np.arange(4.0)) == 6.0


@pytest.mark.slow
def test_a_first_call_says_that_it_compiles_and_a_second_does_not(empty):
    said = []
    with compiled.announced(said.append):
        total = _sum()
        total(np.arange(3.0))
        total(np.arange(4.0))
    assert said == [compiled.DOING]
    with compiled.announced(said.append):
        _sum()(np.arange(4.0))  # as another process would: from the kept code
    assert said == [compiled.DOING]


def test_what_several_processes_compile_of_one_kernel_is_all_kept(empty):
    held, waits = threading.Event(), threading.Event()

    def second():
        with code.alone(empty, waits.set):
            assert held.is_set()

    with code.alone(empty, lambda: None):
        other = threading.Thread(target=second)
        other.start()
        assert waits.wait(30)
        held.set()
    other.join(30)
    assert not other.is_alive()


def test_code_of_sources_that_are_no_more_is_tidied_away(monkeypatch, empty):
    mine = code.folder("sagger.geometry.wall.ways")
    stale, gone = mine.with_name("geometry.wall.ways-0123456789ab"), empty / "physics.away-0123456789ab"
    for folder in (mine, stale, gone):
        folder.mkdir()
    code.tidy()
    assert stale.exists() and gone.exists()  # another copy of the program may keep its code here
    os.utime(gone, (0, 0))
    code.tidy()
    assert stale.exists() and not gone.exists()
    monkeypatch.setattr(code, "_BESIDE", empty)
    code.tidy()
    assert mine.exists() and not stale.exists()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "int64, float32, bool, none",
        "array(float64, 2, C), frozen(int32, 1, A)",
        "constant(-3), constant(true)",
        "tuple(array(uint8, 1, C), tuple(int64, int64)), int8",
        "geometry.tree.bvh.TriangleTree(array(float64, 2, C), array(float64, 2, C), array(int64, 1, C), "
        "array(float64, 3, C))",
    ],
)
def test_what_a_kernel_takes_is_the_same_written_and_read(text):
    assert signatures.written(signatures.read(text)) == text


def test_what_has_no_word_is_refused():
    with pytest.raises(TypeError, match="unicode_type"):
        signatures.written((signatures.types.unicode_type,))


def _sum():
    @compiled.kernel
    def total(values):
        found = 0.0
        for value in values:
            found += value
        return found

    return total
