"""Which role each address of the bench needs; one without a rule is not there."""

from __future__ import annotations

import re
from typing import Annotated, NamedTuple

from fastapi import Path

READS = ("GET", "HEAD", "OPTIONS")
Number = Annotated[int, Path(ge=0, lt=2**31)]  # of a row of the ledger, on every database


class RouteRule(NamedTuple):
    """Who may ask what."""

    methods: tuple[str, ...]
    path: str  # with {name} for one word of it, {name:path} for the rest
    may: str  # look, plan or approve; "" = whoever comes, signed in or not


RULES = (
    RouteRule(READS, "/login", ""),
    RouteRule(("POST",), "/login", ""),
    RouteRule(("POST",), "/logout", "look"),
    RouteRule(READS, "/bench/{file:path}", ""),
    RouteRule(READS, "/favicon.ico", ""),
    RouteRule(READS, "/", "look"),
    RouteRule(READS, "/new", "plan"),
    RouteRule(READS, "/new/{draft}", "plan"),
    RouteRule(READS, "/cell", "look"),
    RouteRule(READS, "/files/cell/calendar.ics", "look"),
    RouteRule(READS, "/files/cell/day/{name}", "look"),
    RouteRule(READS, "/cards", "look"),
    RouteRule(READS, "/cards/{kind}/{name}", "look"),
    RouteRule(READS, "/readings", "look"),
    RouteRule(READS, "/lots/{name}", "look"),
    RouteRule(READS, "/charts", "look"),
    RouteRule(READS, "/factors", "look"),
    RouteRule(READS, "/people", "look"),
    RouteRule(READS, "/compare", "look"),
    RouteRule(READS, "/job/{number}", "look"),
    RouteRule(READS, "/job/{number}/change", "look"),
    RouteRule(READS, "/job/{number}/price", "look"),
    RouteRule(READS, "/job/{number}/programmes", "look"),
    RouteRule(READS, "/job/{number}/bed", "look"),
    RouteRule(READS, "/job/{number}/layers", "look"),
    RouteRule(READS, "/job/{number}/part", "look"),
    RouteRule(READS, "/job/{number}/part/{name:path}", "look"),
    RouteRule(("POST",), "/api/uploads/{draft}/{name}", "plan"),
    RouteRule(READS, "/api/job/{job}", "look"),
    RouteRule(READS, "/api/job/{job}/plan.json", "look"),
    RouteRule(READS, "/files/job/{job}/{name}", "look"),
    RouteRule(READS, "/files/job/{job}/box/{box}/{name}", "look"),
    RouteRule(READS, "/api/box/{key}/pieces.json", "look"),
    RouteRule(READS, "/api/box/{key}/density.svg", "look"),
    RouteRule(READS, "/api/box/{key}/places.bin", "look"),
    RouteRule(READS, "/api/box/{key}/forms/{most}.bin", "look"),
    RouteRule(READS, "/api/box/{key}/form/{part}.bin", "look"),
    RouteRule(READS, "/api/part/{key}/form/{most}.bin", "look"),
    RouteRule(READS, "/api/drawn/{handle}/form/{most}.bin", "look"),
    RouteRule(READS, "/api/green/{key}/maps.bin", "look"),
    RouteRule(READS, "/api/box/{key}/layer/{layer}/{level}/{column}/{row}.bin", "look"),
    # The toolkit's own: its scripts, and the socket of its pages; `events` rules what comes over it.
    RouteRule(READS, "/_nicegui/{file:path}", "look"),
    RouteRule((*READS, "POST", "WEBSOCKET"), "/_nicegui_ws/{file:path}", "look"),
)


def _pattern(path: str) -> re.Pattern[str]:
    parts = re.split(r"\{\w+(:path)?\}", path)
    words = [re.escape(word) for word in parts[::2]]
    gaps = [".*" if kind else "[^/]+" for kind in parts[1::2]]
    return re.compile("".join(a + b for a, b in zip(words, [*gaps, ""], strict=True)), re.DOTALL)


_PATTERNS = [(rule, _pattern(rule.path)) for rule in RULES]


def rule(method: str, path: str) -> RouteRule | None:
    """The rule of an address; None if there is none.

    Parameters
    ----------
    method : str
        As of HTTP, or "WEBSOCKET".
    """
    for known, pattern in _PATTERNS:
        if method in known.methods and pattern.fullmatch(path):
            return known
    return None
