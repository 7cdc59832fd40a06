"""How many of a thing: the one number that stands without a unit."""

import re

from hidewright.units.number import refuse

COUNT_EXAMPLES = ("0", "1", "12")


def parse_count(text: str) -> int:
    """Read a whole number, 0 or more, up to 999 999 999."""
    if not re.fullmatch(r"\s*[0-9]{1,9}\s*", text):
        refuse(
            text,
            wanted="a count",
            because="it is not a plain whole number of 0 or more",
            accepted=COUNT_EXAMPLES,
        )
    return int(text)
