"""What is told while kernels are compiled."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

#: Fetching the compiled kernels takes less than this; compiling them takes longer, s.
PATIENCE_S = 2.0
WORDS = "making ready; the first time on a machine this takes half a minute"


@contextmanager
def told_if_slow(say: Callable[[str], None]) -> Iterator[None]:
    """Say that the kernels are being compiled when the block takes long."""
    timer = threading.Timer(PATIENCE_S, say, [WORDS])
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
