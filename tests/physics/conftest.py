"""Makes small bodies and their speeds importable by name; tests are no package (import mode importlib)."""

import importlib.util
import sys
from pathlib import Path

for _name in ("closed_forms", "solid_bodies", "solid_general", "solid_speeds"):
    _spec = importlib.util.spec_from_file_location(_name, Path(__file__).with_name(f"{_name}.py"))
    sys.modules[_name] = importlib.util.module_from_spec(_spec)
    _spec.loader.exec_module(sys.modules[_name])
