"""Makes what several rooms of tests use importable by name; tests are no package (import mode importlib)."""

import importlib.util
import sys
from pathlib import Path

HAND_MADE = ("aside", "furnace_goods", "furnace_shapes")

for _name in HAND_MADE:
    _spec = importlib.util.spec_from_file_location(_name, Path(__file__).with_name(f"{_name}.py"))
    sys.modules[_name] = importlib.util.module_from_spec(_spec)
    _spec.loader.exec_module(sys.modules[_name])
