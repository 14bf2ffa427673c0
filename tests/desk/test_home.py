"""A file is there whole or not at all, and a disk that is full is said in a sentence."""

import errno
from pathlib import Path

import pytest

from sagger.desk.home import write_whole
from sagger.errors import DiskError, not_written

FAULTS = {errno.ENOSPC: "the disk is full", errno.EROFS: "may only be read"}


@pytest.mark.parametrize("number", FAULTS)
def test_a_file_that_cannot_be_written_leaves_nothing_and_the_old_one_stays(tmp_path, monkeypatch, number):
    path = tmp_path / "card.toml"
    write_whole(path, b"old")
    plain = Path.write_bytes

    def half(self, content):
        plain(self, content[:1])
        raise OSError(number, "as the system says it")

    monkeypatch.setattr(Path, "write_bytes", half)
    with pytest.raises(DiskError, match=FAULTS[number]) as told:
        write_whole(path, b"new")
    assert "card.toml" in str(told.value) and "as the system" not in str(told.value)
    assert [(each.name, each.read_bytes()) for each in tmp_path.iterdir()] == [("card.toml", b"old")]


def test_another_fault_is_no_matter_of_the_disk(tmp_path):
    assert not_written(OSError(errno.EIO, "broken")) is None
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "file" / "card.toml", b"new")
