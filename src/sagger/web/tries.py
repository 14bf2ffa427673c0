"""How often a password may be tried: counted before it is looked at, by account and by address.

A stranger who tries names and words is slowed down; a person who has signed in before from the same browser
is not shut out with them, for that browser has a count of its own (OWASP, "Blocking Brute Force Attacks",
device cookies).
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections.abc import Callable
from typing import NamedTuple

WITHIN_S = 300.0
BY_PAIR = 5  # tries of one account from one address, within that time
BY_DEVICE = 5  # of one account from a browser it has signed in from
BY_ADDRESS = 30  # of any account from one address: a shop may stand behind one
BY_ACCOUNT = 60  # of one account from anywhere
MOST_KEPT = 20_000  # counts; the oldest are forgotten beyond that
LONGEST_NAME = 80  # what is longer is nobody's name


class TryLimit(NamedTuple):
    """What is counted, and how many are allowed."""

    key: tuple[str, ...]
    most: int


class Tries:
    """Times of the tries of the last minutes."""

    def __init__(self, clock: Callable[[], float] = time.monotonic):
        self._clock, self._times, self._lock = clock, dict[tuple[str, ...], list[float]](), threading.Lock()

    def begin(self, name: str, address: str, device: str) -> float:
        """Seconds to wait before another try; 0 = this one is counted and may go on.

        Parameters
        ----------
        name, address : str
            Of the account that is tried, and where the request comes from.
        device : str
            What `recognised` gave for the browser; "" = a stranger.
        """
        counts = _counts(name, address, device)
        with self._lock:
            now = self._clock()
            for key, most in counts:
                recent = [at for at in self._times.get(key, ()) if now - at < WITHIN_S]
                if len(recent) >= most:
                    return recent[-most] + WITHIN_S - now
            for key, _ in counts:
                recent = [at for at in self._times.pop(key, ()) if now - at < WITHIN_S]
                self._times[key] = [*recent, now]  # the newest stand last
            while len(self._times) > MOST_KEPT:
                del self._times[next(iter(self._times))]
        return 0.0

    def end(self, name: str, address: str, device: str) -> None:
        """The word was right: its tries no longer count."""
        with self._lock:
            for key, _ in _counts(name, address, device):
                self._times.pop(key, None)


def _counts(name: str, address: str, device: str) -> tuple[TryLimit, ...]:
    account = name[:LONGEST_NAME].casefold()
    if device:
        return (TryLimit(("device", account, device), BY_DEVICE),)
    return (
        TryLimit(("pair", account, address), BY_PAIR),
        TryLimit(("address", address), BY_ADDRESS),
        TryLimit(("account", account), BY_ACCOUNT),
    )


def device_word(name: str, secret: str) -> str:
    """What a browser keeps so that it is known again; worth nothing once the account has another password."""
    number = secrets.token_hex(16)
    return f"{number}.{_signed(number, name, secret)}"


def recognised(word: str, name: str, secret: str) -> str:
    """The number of a browser that this account has signed in from; "" = none."""
    number, _, signature = word.partition(".")
    good = bool(secret) and hmac.compare_digest(signature.encode(), _signed(number, name, secret).encode())
    return number if good else ""


def _signed(number: str, name: str, secret: str) -> str:
    return hmac.new(secret.encode(), f"{number}\n{name}".encode(), hashlib.sha256).hexdigest()
