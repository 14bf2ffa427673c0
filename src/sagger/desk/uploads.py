"""Uploaded files: each draft is a folder that nobody but its owner can name, and holds only so much."""

from __future__ import annotations

import re
import secrets
import shutil
import time
from pathlib import Path

from sagger.desk.home import home
from sagger.errors import InputError
from sagger.files.parts import ENDINGS

MOST_BYTES = 256 << 20  # of one uploaded file
MOST_FILES = 100  # of a draft
MOST_OF_DRAFT = 1 << 30  # bytes of a draft
MOST_DRAFTS = 20  # of a person, unfinished
MOST_OF_PERSON = 4 << 30  # bytes of all drafts of a person
MOST_OF_ALL = 16 << 30  # bytes of all drafts
TAKEN = (*ENDINGS, ".toml", ".csv")
KEPT_S = 7 * 86400.0  # a draft that nobody finished
ASIDE = ".part"  # how a file ends that is on its way
_OWNER = ".owner"  # who brought the first file of a draft
_TOKEN = re.compile(r"[0-9a-f]{24}")
_STRANGE = re.compile(r"[^\w .+()-]+")


def begin() -> str:
    """Name of a new draft. Its folder is made once a file comes."""
    return secrets.token_hex(12)


def known(token: str) -> bool:
    """Whether a draft can have this name."""
    return bool(_TOKEN.fullmatch(token))


def folder(token: str, person: str = "") -> Path:
    """Where the files of a draft lie, made if need be.

    Raises
    ------
    InputError
        If no draft can have that name, or the person has begun too many.
    """
    if not known(token):
        raise InputError("there is no such draft", remedy="Begin a new order.")
    path = home() / "uploads" / token
    if not path.is_dir():
        _sweep()
        own = [draft for draft in _drafts() if _owner(draft) == person]
        if len(own) >= MOST_DRAFTS:
            what = f"{MOST_DRAFTS} orders are begun and not finished"
            raise InputError(what, remedy="Plan one of them, or take its files out; after a week they go.")
        path.mkdir(parents=True)
        (path / _OWNER).write_text(person, "utf-8")
    return path


def names(token: str) -> list[str]:
    """Names of the files of a draft that are there whole; none of one that holds nothing yet."""
    path = home() / "uploads" / token
    return sorted(each.name for each in _files(path)) if known(token) else []


def held(token: str, name: str) -> Path:
    """A file of a draft by the name under which it is kept there.

    The name is looked for among those that are there; it is never made into a path.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    path = home() / "uploads" / token
    path_of_name = next((each for each in _files(path) if each.name == name), None) if known(token) else None
    if path_of_name is None:
        raise InputError("this draft holds no such file", file=name[:120], remedy="Bring it again.")
    return path_of_name


def place(token: str, name: str, person: str = "") -> Path:
    """Where a file of this name may be put.

    Raises
    ------
    InputError
        If its kind is none that is read, or the draft, the person or the bench holds too much.
    """
    bare = _STRANGE.sub("-", name.replace("\\", "/").rpartition("/")[2]).strip(" .-")[-120:]
    ending = Path(bare).suffix.lower()
    if ending not in TAKEN or not Path(bare).stem:
        kinds = ", ".join(sorted(TAKEN))
        raise InputError("files of this kind are not read here", file=name[:120], remedy=f"Known: {kinds}.")
    at = folder(token, person)
    if len(names(token)) >= MOST_FILES:
        raise InputError(f"an order takes at most {MOST_FILES} files", file=bare, remedy="Make two orders.")
    if room(token, person) <= 0:
        what = "no more is taken until orders are planned or files taken out"
        raise InputError(what, file=bare, remedy=f"An order takes {MOST_OF_DRAFT >> 30} GiB in all.")
    return at / bare


def room(token: str, person: str = "") -> int:
    """Bytes that a draft may still take, by its own limit, its owner's and the bench's."""
    sizes = {draft.name: _size(draft) for draft in _drafts()}
    own = sum(sizes[draft.name] for draft in _drafts() if _owner(draft) == person)
    left = (MOST_OF_DRAFT - sizes.get(token, 0), MOST_OF_PERSON - own, MOST_OF_ALL - sum(sizes.values()))
    free = shutil.disk_usage(home()).free // 2  # the other half is for what is planned
    return min(MOST_BYTES, free, *left)


def _drafts() -> list[Path]:
    drafts = home() / "uploads"
    return [each for each in drafts.iterdir() if known(each.name)] if drafts.is_dir() else []


def _files(path: Path) -> list[Path]:
    """What was brought: notes about files, and what is on its way, are none."""
    found = path.iterdir() if path.is_dir() else ()
    return [each for each in found if each.suffix.lower() in TAKEN and not each.name.startswith(".")]


def _owner(draft: Path) -> str:
    try:
        return (draft / _OWNER).read_text("utf-8")
    except OSError:
        return ""


def _size(draft: Path) -> int:
    try:
        return sum(each.stat().st_size for each in draft.iterdir())
    except OSError:  # it was planned meanwhile
        return 0


def swept(older_s: float, *, do: bool) -> int:
    """Number of drafts that nobody touched for so long; they are thrown away with `do`."""
    old = [draft for draft in _drafts() if time.time() - draft.stat().st_mtime > older_s]
    for draft in old if do else ():
        shutil.rmtree(draft, ignore_errors=True)
    return len(old)


def _sweep() -> None:
    """Throw away the drafts that nobody finished, and what broke off on its way into another."""
    for draft in _drafts():
        try:
            if time.time() - draft.stat().st_mtime > KEPT_S:
                shutil.rmtree(draft, ignore_errors=True)
                continue
            for aside in draft.glob(f".*{ASIDE}"):
                if time.time() - aside.stat().st_mtime > KEPT_S / 7:
                    aside.unlink(missing_ok=True)
        except OSError:  # somebody else swept it
            continue
