"""Sagger: one binder-jet job from part file to promise."""
