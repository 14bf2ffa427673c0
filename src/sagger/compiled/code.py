"""Where machine code is kept: never older than a source it was made from.

A kernel that calls one of another file has that one's code inside its own. So each module's code lies in a
folder named by the digest of its file and of all files of this program that it imports.
"""

from __future__ import annotations

import functools
import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any, ClassVar

try:
    import fcntl
except ImportError:  # not a Unix: what two processes compile at the same moment may be compiled once more
    fcntl = None  # type: ignore[assignment]

from numba.core.caching import CompileResultCacheImpl, FunctionCache

from sagger.compiled import sources

STALE_S = 30 * 24 * 3600
PAUSE_S = 0.02
_BESIDE = sources.PACKAGE / "__pycache__" / "kernels"


@functools.cache
def folder(module: str) -> Path:
    """Where the machine code of a module's kernels is kept."""
    return home() / f"{module.removeprefix('sagger.')}-{sources.digest(module)}"


@functools.cache
def home() -> Path:
    """The folder of all kept machine code: NUMBA_CACHE_DIR, beside the program, or in the user's cache."""
    said = os.environ.get("NUMBA_CACHE_DIR", "")
    if said:
        return Path(said)
    if os.access(sources.PACKAGE, os.W_OK):
        return _BESIDE
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "sagger" / "kernels"


def tidy() -> None:
    """Remove code of sources that are no more.

    Where other copies of the program may keep theirs too, only what nobody has added to for a month.
    """
    for old in home().glob("*-????????????"):
        module = f"sagger.{old.name.rpartition('-')[0]}"
        removable = home() == _BESIDE or time.time() - old.stat().st_mtime > STALE_S
        if removable and old.is_dir() and old != folder(module):
            shutil.rmtree(old, ignore_errors=True)


def keeps() -> bool:
    """Whether code can be kept at all: some installs are read-only."""
    with suppress(OSError):
        home().mkdir(parents=True, exist_ok=True)
        return os.access(home(), os.W_OK)
    return False


@contextmanager
def alone(path: Path, pause: Callable[[], None]) -> Iterator[None]:
    """Within it, no other process is within it for this folder; `pause` is called while one still is."""
    path.mkdir(parents=True, exist_ok=True)
    with open(path / "lock", "wb") as lock:
        while not _locked(lock):
            time.sleep(PAUSE_S)
            pause()
        yield


def _locked(lock: IO[bytes]) -> bool:
    with suppress(BlockingIOError):
        if fcntl:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return True
    return False


class _Place:
    """Where the compiler finds the code of one kernel, and how it knows that it is of this source."""

    def __init__(self, function: Callable[..., Any]):
        self._folder, self._line = folder(function.__module__), function.__code__.co_firstlineno
        self._py_file = function.__code__.co_filename  # told in the compiler's warnings

    @classmethod
    def from_function(cls, function: Callable[..., Any], _file: str) -> _Place:
        return cls(function)

    def ensure_cache_path(self) -> None:
        self._folder.mkdir(parents=True, exist_ok=True)

    def get_cache_path(self) -> str:
        return str(self._folder)

    def get_source_stamp(self) -> str:
        return self._folder.name

    def get_disambiguator(self) -> str:
        return str(self._line)


class _Places(CompileResultCacheImpl):
    _locator_classes: ClassVar[list[Any]] = [_Place]  # type: ignore[misc]


class Code(FunctionCache):
    """The kept code of one kernel, where several processes may add at once; where none may, none is kept."""

    _impl_class = _Places

    def load_overload(self, signature: Any, target: Any) -> Any:
        with suppress(OSError):
            return super().load_overload(signature, target)  # type: ignore[no-untyped-call]
        return None

    def save_overload(self, signature: Any, made: Any) -> None:
        with suppress(OSError), alone(Path(self.cache_path), lambda: None):
            super().save_overload(signature, made)  # type: ignore[no-untyped-call]
