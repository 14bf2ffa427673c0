"""Asynchronous work of a test, in a thread of its own: browser tests may have left a loop in this one."""

import asyncio
from concurrent.futures import ThreadPoolExecutor


def done(work):
    """What a coroutine gives."""
    with ThreadPoolExecutor(1) as aside:
        return aside.submit(asyncio.run, work).result()
