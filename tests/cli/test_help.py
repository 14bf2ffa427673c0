"""`sagger --help` is quick because it loads nothing heavy."""

import subprocess
import sys

import pytest

HEAVY = (
    "numpy",
    "scipy",
    "numba",
    "trimesh",
    "manifold3d",
    "sqlalchemy",
    "alembic",
    "pydantic",
    "rich",
    "typst",
    "nicegui",
    "fastapi",
)


@pytest.mark.slow
@pytest.mark.parametrize("words", [["--help"], ["plan", "--help"], ["check", "--help"], ["serve", "--help"]])
def test_help_loads_nothing_heavy(words):
    code = f"import sys; sys.argv[1:] = {words}\nfrom sagger.cli import main\n"
    code += "try: main()\nexcept SystemExit: pass\nprint([m for m in sys.argv_heavy if m in sys.modules])"
    code = code.replace("sys.argv_heavy", repr(HEAVY))
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
