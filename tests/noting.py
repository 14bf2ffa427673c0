"""`sagger`, and afterwards a file that says which kernels were called with what: noting.py FILE WORDS ..."""

import gc
import json
import sys
from pathlib import Path

from numba.core.dispatcher import Dispatcher

from sagger.cli import main
from sagger.desk.planning import signatures


def called():
    """By name, what each kernel of the program is ready for in this process."""
    found = {}
    for kernel in gc.get_objects():
        if isinstance(kernel, Dispatcher) and kernel.py_func.__module__.startswith("sagger."):
            name = f"{kernel.py_func.__module__}.{kernel.py_func.__name__}".removeprefix("sagger.")
            found.setdefault(name, []).extend(map(signatures.written, kernel.signatures))
    return {name: takes for name, takes in found.items() if takes}


if __name__ == "__main__":
    path = Path(sys.argv.pop(1))
    try:
        main()
    finally:
        path.write_text(json.dumps(called()))
