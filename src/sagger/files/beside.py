"""Files that another file names: only those in its own folder, or below it."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from sagger.errors import InputError

R = TypeVar("R", bound=InputError)


def file(naming: Path, name: str, field: str, refuse: type[R]) -> Path:
    """Where the file lies that `naming` names in `field`; whether it is there is not said.

    A file comes from somebody else as often as not. A name that led out of its folder would have this program
    read whatever the person who opens it may read.

    Raises
    ------
    InputError
        Of the kind `refuse`, if the name leads out of the folder, or no file can have it.
    """
    folder = naming.parent.resolve()
    try:
        path = (folder / name).resolve()
        path.is_file()  # asks the system whether a file can have this name at all
    except (OSError, ValueError, RuntimeError):
        wrong = "no file can have this name"
        raise refuse(wrong, file=naming.name, field=field, value=name[:80], remedy="Mend the name.") from None
    if not path.is_relative_to(folder):
        wrong = f"a file beside {naming.name} or below its folder is meant here, and this one lies elsewhere"
        remedy = "Copy it there and give its bare name."
        raise refuse(wrong, file=naming.name, field=field, value=name[:80], remedy=remedy)
    return path
