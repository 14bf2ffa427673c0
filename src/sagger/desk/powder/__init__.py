"""Powder lots: on the shelf, moved, blended."""
