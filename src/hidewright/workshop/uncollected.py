"""A stretch of calculation without the search for circles of objects that hold one another."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def uncollected() -> Iterator[None]:
    """Put off the search for garbage in circles while a block runs.

    What a pack and a plan make are trees, which go without it; it is searched for in vain among all
    that is kept. What little there is in circles (a few MB) goes at the first search behind it.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
