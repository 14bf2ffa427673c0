"""Orders checked, planned, drawn and remembered."""
