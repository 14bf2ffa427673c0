"""The first job of a machine says that it compiles."""

import pytest
from numba import config

from sagger.desk import warm
from sagger.tick import Tick


def test_a_machine_is_cold_until_compiled_code_is_kept(monkeypatch, tmp_path):
    monkeypatch.setattr(config, "CACHE_DIR", str(tmp_path))
    assert warm.cold()
    (tmp_path / "room").mkdir()
    (tmp_path / "room" / "trace._cut.nbi").write_bytes(b"")
    assert not warm.cold()


@pytest.mark.slow
def test_a_cold_machine_says_so_before_it_compiles(monkeypatch):
    said = []
    monkeypatch.setattr(warm, "cold", lambda: True)
    warm.warmed(Tick(lambda doing, done, total: said.append(doing), lambda: False))
    assert said and set(said) == {"compiling, once on this machine"}
