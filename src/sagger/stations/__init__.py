"""The steps of the process. Each knows its own and no other."""
