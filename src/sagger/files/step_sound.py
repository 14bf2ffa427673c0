"""Whether all that the solids of a STEP file stand on is there and can be read.

The library that makes triangles of them passes over what it cannot read, and then gives a body with a hole,
or another one each time.
"""

from __future__ import annotations

import re

from sagger.errors import PartFileError
from sagger.files.part21 import Text
from sagger.files.step_bodies import SHEETS, SOLIDS

# No token can be read in two ways, and none is given back: a lost bracket costs no time.
_WHOLE = re.compile(
    r"""(?>\s+|'[^']*'|\#\d+|\.[A-Za-z_0-9]+\.|[-+]?\d+\.?\d*(?:[eE][-+]?\d+)?(?![\w.])
    |[A-Za-z_!][A-Za-z_0-9]*|"[0-9A-Fa-f]*"|[(),$*])*+""",
    re.VERBOSE,
)
_TEXT, _REFERENCE = re.compile(r"'[^']*'"), re.compile(r"#(\d+)")
SHOWN = 40  # characters of what cannot be read


def refuse_damaged(file: Text, name: str) -> None:
    """Look at every instance that a solid, or a shell where there is no solid, stands on.

    Raises
    ------
    PartFileError
        With the number of the first that is missing, there twice, or cannot be read.
    """
    open_ends = file.of_type(*SOLIDS) or file.of_type(*SHEETS)
    known = set(open_ends)
    while open_ends:
        number = open_ends.pop()
        if fault := _fault(file, number):
            what = f"its solid stands on #{number}, which {fault}"
            remedy = "The file was damaged on its way, or written badly: export it again."
            raise PartFileError(what, file=name, remedy=remedy)
        for named in _REFERENCE.findall(_TEXT.sub("", file.body(number))):
            if int(named) not in known:
                known.add(int(named))
                open_ends.append(int(named))


def _fault(file: Text, number: int) -> str:
    if number not in file:
        return "is not in the file"
    if number in file.doubled:
        return "is in the file twice, and says two things"
    body = file.body(number)
    bare = _TEXT.sub("", body) if "'" in body else body
    if _WHOLE.fullmatch(body) and bare.count("(") == bare.count(")") and body.endswith(")"):
        return ""
    return f"cannot be read ({body[:SHOWN]!r})"
