"""`python -m combo` is the command line."""

from combo.cli import main

main()
