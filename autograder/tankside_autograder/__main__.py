"""``python -m tankside_autograder``."""

from tankside_autograder.cli import main

main()
