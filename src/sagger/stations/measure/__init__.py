"""What came out against what was asked, and what to change next time."""

EDITION = "1"

__all__ = ["EDITION"]
