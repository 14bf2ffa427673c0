"""One height a column: shapes that come down from above, and so lie one above the other [mm]."""
