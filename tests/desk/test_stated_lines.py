"""Lines taken from clicked faces outlast a closed page and arrive in the order."""

from sagger.desk import uploads
from sagger.desk.planning import stated_lines

LINES = {"datum": [], "dimension": [{"what": "flatness", "of": "plane at 0, 0, 8", "limit": "0.2 mm"}]}


def test_lines_are_kept_by_part_and_body_and_put_into_the_tables(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    at = stated_lines.of_draft(uploads.begin())
    assert stated_lines.kept(at, "a.step", "lid") is None
    stated_lines.keep(at, "a.step", "lid", LINES)
    assert stated_lines.kept(at, "a.step", "lid") == LINES
    assert stated_lines.kept(at, "a.step", "base") is None
    assert uploads.names(at.parent.name) == []  # a note is no file that was brought
    old = {"what": "flatness", "of": "plane at 1, 1, 1", "limit": "1 mm"}
    parts = [{"file": "a.step", "body": "lid", "dimension": [old]}, {"file": "a.step", "body": "base"}]
    first, second = stated_lines.taken_in({"order": {}, "part": parts}, at)["part"]
    assert first["dimension"] == LINES["dimension"] and "datum" not in first
    assert second == parts[1]


def test_what_is_damaged_or_forgotten_is_nothing(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    at = stated_lines.of_version(7)
    stated_lines.keep(at, "a.stl", "", LINES)
    stated_lines.forget(at)
    stated_lines.forget(at)
    assert stated_lines.kept(at, "a.stl", "") is None
    at.write_text("[1")
    assert stated_lines.kept(at, "a.stl", "") is None
