"""Shapes let down into a box, and lying on one another: what nesting stands on [mm]."""
