"""`python -m sagger`."""

from sagger.cli import main

main()
