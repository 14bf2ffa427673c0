"""A shape cut into cells or voxels, and bent [mm]."""
