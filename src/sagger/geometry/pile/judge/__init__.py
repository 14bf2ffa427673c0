"""Exact looks at shapes where they lie, which know nothing of how they were laid there [mm]."""
