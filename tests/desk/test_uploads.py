"""What a draft, a person and the bench take, and no more; a name is looked up, never made into a path."""

import os
import time

import pytest

from sagger.desk import uploads
from sagger.errors import InputError


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    return tmp_path


def brought(token, name, size=1, person="Ann"):
    path = uploads.place(token, name, person)
    with path.open("wb") as file:
        file.truncate(size)
    return path


def test_looking_makes_no_folder(home):
    assert uploads.names(uploads.begin()) == []
    assert not (home / "uploads").exists()


@pytest.mark.parametrize(
    "name", ["/etc/passwd", "../../../secret.csv", "..", "", ".owner", "a.csv/../../x", "/proc/self/environ"]
)
def test_a_name_from_a_browser_is_looked_up_and_never_a_path(home, name):
    (home / "secret.csv").write_text("secret")
    token = uploads.begin()
    brought(token, "a.csv")
    assert uploads.held(token, "a.csv").read_bytes() == b"\0"
    with pytest.raises(InputError, match="holds no such file"):
        uploads.held(token, name)


@pytest.mark.parametrize("token", ["..", "../x", "A" * 24, "0" * 23, "0" * 24 + "/.."])
def test_nothing_else_is_a_draft(token):
    for ask in (lambda: uploads.folder(token), lambda: uploads.held(token, "a.csv")):
        with pytest.raises(InputError):
            ask()
    assert uploads.names(token) == []


def test_a_draft_takes_so_many_files(monkeypatch):
    monkeypatch.setattr(uploads, "MOST_FILES", 3)
    token = uploads.begin()
    for number in range(3):
        brought(token, f"{number}.stl")
    with pytest.raises(InputError, match="at most 3 files"):
        uploads.place(token, "more.stl", "Ann")


def test_a_draft_a_person_and_the_bench_take_so_many_bytes(monkeypatch):
    monkeypatch.setattr(uploads, "MOST_OF_DRAFT", 1000)
    monkeypatch.setattr(uploads, "MOST_OF_PERSON", 1500)
    monkeypatch.setattr(uploads, "MOST_OF_ALL", 2470)
    first, second, third = (uploads.begin() for _ in range(3))
    brought(first, "a.stl", 900)
    assert 0 < uploads.room(first, "Ann") < 101
    brought(first, "b.stl", 100)
    with pytest.raises(InputError, match="no more is taken"):
        uploads.place(first, "c.stl", "Ann")
    brought(second, "a.stl", 490)
    assert uploads.room(second, "Ann") < 10
    brought(third, "a.stl", 980, "Ben")
    with pytest.raises(InputError, match="no more is taken"):
        uploads.place(uploads.begin(), "a.stl", "Cid")


def test_a_person_has_so_many_drafts_and_another_goes_on(monkeypatch):
    monkeypatch.setattr(uploads, "MOST_DRAFTS", 2)
    for _ in range(2):
        brought(uploads.begin(), "a.stl")
    with pytest.raises(InputError, match="2 orders are begun"):
        uploads.place(uploads.begin(), "a.stl", "Ann")
    brought(uploads.begin(), "a.stl", person="Ben")


def test_what_nobody_finished_goes(home):
    old = brought(uploads.begin(), "a.stl").parent
    os.utime(old, (0, time.time() - uploads.KEPT_S - 10))
    assert uploads.swept(uploads.KEPT_S, do=False) == 1 and old.exists()
    brought(uploads.begin(), "a.stl")
    assert not old.exists()
