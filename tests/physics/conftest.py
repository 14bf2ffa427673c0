"""Makes the small bodies importable by name; tests are no package (import mode importlib)."""

import importlib.util
import sys
from pathlib import Path

_spec = importlib.util.spec_from_file_location("solid_bodies", Path(__file__).with_name("solid_bodies.py"))
sys.modules["solid_bodies"] = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(sys.modules["solid_bodies"])
