"""Closed surfaces: measured, mended, laid on one another, made [mm]."""
