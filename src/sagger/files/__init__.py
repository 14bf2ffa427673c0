"""The only readers and writers of files from outside."""

from sagger.files.parts import read_part

__all__ = ["read_part"]
