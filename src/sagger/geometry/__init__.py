"""Shapes that know nothing of powder [mm]."""
