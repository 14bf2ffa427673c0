"""The only readers and writers of files from outside."""

from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

from sagger.files.bed import read as read_bed
from sagger.files.bed import write as write_3mf
from sagger.files.parts import read_part, read_parts

if TYPE_CHECKING:
    from sagger.files import order

__all__ = ["order", "read_bed", "read_part", "read_parts", "write_3mf"]


def __getattr__(name: str) -> ModuleType:
    # The order's schema library takes longer to load than a part takes to read.
    if name == "order":
        return import_module("sagger.files.order")
    raise AttributeError(name)
