"""Makes the table in licences.md: `python docs/licences.py` rewrites it from what is installed and locked."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from importlib.metadata import distribution
from pathlib import Path

HERE = Path(__file__).parent
LOCK = HERE.parent / "requirements.lock"
PAGE = HERE / "licences.md"
MARK = "<!-- table below is made by docs/licences.py; do not edit -->"


def table() -> str:
    """Markdown table of every locked run-time distribution, its licence and its home."""
    names = locked()
    command = [sys.executable, "-m", "piplicenses", "--format=json", "--with-urls", "--packages", *names]
    found = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    rows = sorted((entry["Name"], _short(entry["License"]), _home(entry)) for entry in found)
    lines = [f"| {name} | {licence} | {url} |" for name, licence, url in rows]
    return "\n".join([MARK, "", "| library | licence | home |", "|---|---|---|", *lines, ""])


def locked() -> list[str]:
    """Names of the locked distributions, sorted."""
    return sorted(set(re.findall(r"^([a-z0-9][a-z0-9._-]*)==", LOCK.read_text(encoding="utf-8"), re.M)))


def _short(licence: str) -> str:
    """The licence's name; some distributions put the whole text where its name belongs."""
    first = licence.strip().splitlines()[0].strip()
    return re.sub(r"^The | License.*$| Software.*$", "", first).strip() + _kind(first)


def _kind(first: str) -> str:
    return "" if re.search(r"\d|MIT|CMU|PSF", first) or "Apache" not in first else " 2.0"


def _home(entry: dict[str, str]) -> str:
    if entry["URL"] != "UNKNOWN":
        return entry["URL"]
    urls = distribution(entry["Name"]).metadata.get_all("Project-URL") or [""]
    return urls[0].partition(", ")[2]


def main() -> None:
    """Rewrite the page's table."""
    head, _, _ = PAGE.read_text(encoding="utf-8").partition(MARK)
    PAGE.write_text(head + table(), encoding="utf-8")


if __name__ == "__main__":
    main()
