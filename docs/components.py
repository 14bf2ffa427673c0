"""Makes the list of components: `python docs/components.py build/components.cdx.json`, CycloneDX 1.6 as JSON.

It says what `requirements.lock` says: every library that the program needs, its version, the digests of its
files, and the licence of what is installed here. The form is an open standard (ECMA-424).
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
import uuid
from importlib.metadata import PackageNotFoundError, metadata, version
from pathlib import Path

LOCK = Path(__file__).parents[1] / "requirements.lock"
HASHES = re.compile(r"sha256:([0-9a-f]{64})")
PINNED = re.compile(r"^([a-z0-9][a-z0-9._-]*)==([^\s;\\]+)(.*?)(?=^\S|\Z)", re.M | re.S)


def document() -> dict[str, object]:
    """The list, the same for the same lock."""
    text = LOCK.read_text("utf-8")
    root = {"type": "application", "bom-ref": "sagger", "name": "sagger", "version": version("sagger")}
    parts = [_component(*match.groups()) for match in PINNED.finditer(text)]
    serial = uuid.UUID(bytes=hashlib.blake2b(text.encode(), digest_size=16).digest(), version=4)
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "serialNumber": f"urn:uuid:{serial}",
        "version": 1,
        "metadata": {"component": root | {"licenses": [{"license": {"id": "Apache-2.0"}}]}},
        "components": parts,
        "dependencies": [{"ref": "sagger", "dependsOn": [part["bom-ref"] for part in parts]}],
    }


def _component(name: str, release: str, rest: str) -> dict[str, object]:
    purl = f"pkg:pypi/{name}@{release}"
    made: dict[str, object] = {
        "type": "library",
        "bom-ref": purl,
        "name": name,
        "version": release,
        "purl": purl,
        "hashes": [{"alg": "SHA-256", "content": each} for each in HASHES.findall(rest)],
    }
    try:
        told = metadata(name)
    except PackageNotFoundError:  # of another system
        return made
    licence = (told.get("License-Expression") or told.get("License") or "").strip().split("\n")[0][:80]
    return made | ({"licenses": [{"license": {"name": licence}}]} if licence else {})


if __name__ == "__main__":
    into = Path(sys.argv[1])
    into.parent.mkdir(parents=True, exist_ok=True)
    into.write_text(json.dumps(document(), indent=1) + "\n", "utf-8")
