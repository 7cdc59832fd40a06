"""The command line, run as a user types it but in this process."""

import sys

from hidewright import cli


def run(*words: object) -> int:
    """Run the command line and return its exit code."""
    sys.argv = ["hidewright", *map(str, words)]
    try:
        cli.main()
    except SystemExit as left:
        return int(left.code or 0)
    return 0
