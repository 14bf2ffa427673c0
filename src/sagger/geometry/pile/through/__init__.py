"""Several stretches a column: shapes that may also reach through and under one another [mm]."""
