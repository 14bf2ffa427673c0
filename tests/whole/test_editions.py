"""A guard of editions, a golden copy and marked as such: it says "changed", never "wrong".

If a station's results on the example order changed, its EDITION must have changed too, or remembered works
would hand out the old ones. Write the new state down with

    SAGGER_SAVE_EDITIONS=1 .venv/bin/pytest tests/whole/test_editions.py
"""

import hashlib
import json
import os
from importlib import import_module
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow
KEPT = Path(__file__).with_name("editions.json")
SECTIONS = {
    "intake": ["parts"],
    "shrink": ["factors"],
    "nest": ["pieces"],
    "layers": ["layers"],
    "dosing": ["drops", "binder", "powder"],
    "cycle": ["times"],
    "cure": ["cure"],
    "sinter": ["sinter"],
    "promise": ["promise"],
    "cost": ["quote"],
}


def rounded(value):
    """Numbers to five digits, so that another processor's last bits are no change."""
    if isinstance(value, float):
        return float(f"{value:.5g}")
    if isinstance(value, dict):
        return {key: rounded(item) for key, item in value.items()}
    return [rounded(item) for item in value] if isinstance(value, list) else value


def state(plan):
    found = {}
    for station, sections in SECTIONS.items():
        text = json.dumps([rounded(plan[section]) for section in sections], sort_keys=True)
        edition = import_module(f"sagger.stations.{station}").EDITION
        found[station] = {"edition": edition, "results": hashlib.sha256(text.encode()).hexdigest()[:16]}
    return found


def test_results_changed_only_where_an_edition_did(shop, example):
    plan, _ = shop.plan(example("metal"))
    now = state(plan)
    if os.environ.get("SAGGER_SAVE_EDITIONS"):
        KEPT.write_text(json.dumps(now, indent=1) + "\n")
    before = json.loads(KEPT.read_text())
    silent = [
        name for name in now if now[name] != before[name] and now[name]["edition"] == before[name]["edition"]
    ]
    assert not silent, f"results of {', '.join(silent)} changed: was it meant? Raise EDITION, or mend it"
    assert now == before, "an edition was raised: write the new state down (see the head of this file)"
