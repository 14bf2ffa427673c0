"""Trees of boxes over triangles, and exact distances between triangles [mm]."""
