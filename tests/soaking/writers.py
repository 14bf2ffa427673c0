"""Twelve processes that write at once: none is refused, nothing is lost."""

from __future__ import annotations

import os
import traceback
from collections import Counter

from soaking.shop import Shop


def writers(each: int, shop: Shop) -> Counter[str]:
    """Each of twelve takes a gram from the same lot, again and again."""
    from sagger.desk import home
    from sagger.ledger import entries, lots

    done: Counter[str] = Counter()
    copy = shop.copied(shop.folder.with_name("written"), f"{shop.database}_w" if shop.database else "")
    before = copy.rows()["entry"]
    children = []
    for writer in range(12):
        child = os.fork()
        if not child:
            try:
                for _ in range(each):
                    lots.scrap(home.ledger(), "M", 0.001, lots.Mover(person=f"writer {writer}"))
                os._exit(0)
            except BaseException:
                traceback.print_exc()
                os._exit(1)
        children.append(child)
    ends = [os.waitpid(child, 0)[1] for child in children]
    with copy.book() as book:
        done["writers"], done["refused"] = 12, sum(end != 0 for end in ends)
        done["missing entries"] = 12 * each + before - entries.check(book).entries
        done["gap mg"] = round(lots.account(book).gap * 1e6)
    return done
