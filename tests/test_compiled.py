"""Machine code is never older than a source it was made from."""

import pytest

from sagger.compiled import code, sources


@pytest.fixture
def package(tmp_path, monkeypatch):
    """Two modules of a program of their own, one of which calls the other."""
    (tmp_path / "upper.py").write_text("from sagger.lower import (\n    depth,  # of all\n)\n")
    (tmp_path / "lower.py").write_text("from sagger.other import room as place\n")
    (tmp_path / "apart.py").write_text("import math\n")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "room.py").write_text("ROOM = 1\n")
    monkeypatch.setattr(sources, "PACKAGE", tmp_path)
    _forget()
    yield tmp_path
    _forget()


def _named():
    _forget()
    return [code.folder(f"sagger.{name}") for name in ("upper", "lower", "apart")]


def _forget():
    sources._source.cache_clear(), sources._imported.cache_clear(), code.folder.cache_clear()


@pytest.mark.parametrize("changed", ["lower.py", "other/room.py"])
def test_a_change_in_a_called_file_makes_the_caller_anew(package, changed):
    upper, lower, apart = _named()
    (package / changed).write_text("from sagger.other import room\nROOM = 2\n")
    assert _named()[0] != upper
    assert _named()[1] != lower
    assert _named()[2] == apart


def test_what_does_not_call_it_is_kept(package):
    upper, lower, _ = _named()
    (package / "upper.py").write_text("from sagger.lower import depth\n\n\nTOP = 2\n")
    assert _named()[0] != upper
    assert _named()[1] == lower


def test_a_real_kernel_knows_the_kernels_of_the_other_file_it_calls():
    reached = sources.reached("sagger.physics.solid.element")
    assert "sagger.physics.solid.strip" in reached
