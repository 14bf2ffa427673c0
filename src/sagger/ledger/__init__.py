"""One database and a folder of arrays by digest: what was done, with what, by which edition."""

from sagger.ledger.store import Ledger, open_at

__all__ = ["Ledger", "open_at"]
