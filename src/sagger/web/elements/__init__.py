"""Own elements of the page: a Python class beside an ES module each. See README.md."""
