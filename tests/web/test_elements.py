"""What an element's script imports is handed to the browser."""

import importlib
import re
from pathlib import Path

import pytest

from sagger.web import elements

HOME = Path(elements.__file__).parent
IMPORTED = re.compile(r'^import [^"]*"([^"]+)";', re.MULTILINE)


@pytest.mark.slow
@pytest.mark.parametrize("script", sorted(HOME.glob("*.js")), ids=lambda path: path.stem)
def test_every_module_that_a_script_imports_is_given_to_it(script):
    given = getattr(importlib.import_module(f"sagger.web.elements.{script.stem}"), "MODULES", {})
    for name in IMPORTED.findall(script.read_text("utf-8")):
        assert Path(given[name]).is_dir(), name


@pytest.mark.parametrize("index", sorted(HOME.glob("*/index.js")), ids=lambda path: path.parent.name)
def test_a_folder_of_scripts_imports_files_that_are_there(index):
    for name in IMPORTED.findall(index.read_text("utf-8")):
        assert not name.startswith(".") or (index.parent / name).is_file(), name
