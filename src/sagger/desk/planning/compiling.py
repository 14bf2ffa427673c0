"""Compiles kernels for `warm`, in a process of its own: a line of JSON names each, a line answers."""

from __future__ import annotations

import importlib
import json
import signal
import sys

from sagger.desk.planning import signatures


def main() -> None:
    """Compile what is asked for until nobody asks any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the one who asked; it ends this process
    for line in sys.stdin:
        name, takes = json.loads(line)
        sys.stdout.write("ready\n" if _made(name, takes) else "left\n")
        sys.stdout.flush()


def _made(name: str, takes: list[str]) -> bool:
    """Whether a kernel is compiled now for all these arguments; a first call says better why it is not."""
    from numba.core.errors import NumbaError

    module, _, function = name.rpartition(".")
    try:
        kernel = getattr(importlib.import_module(f"sagger.{module}"), function)
        for taken in takes:
            kernel.compile(signatures.read(taken))
    except (NumbaError, ImportError, AttributeError, TypeError):  # the list is of other sources
        return False
    return True


if __name__ == "__main__":
    main()
