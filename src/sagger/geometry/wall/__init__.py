"""Walls, hollows, overhangs and feet of a part [mm]."""
