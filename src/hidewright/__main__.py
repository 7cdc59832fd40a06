"""Run as ``python -m hidewright``."""

from hidewright.cli import main

main()
