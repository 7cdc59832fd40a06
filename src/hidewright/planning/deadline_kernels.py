"""Jobs with deadlines on one machine, compiled.

Where this file changes those that call it must, too: what is kept of them compiled is kept by their
dates.
"""

# mypy: disable-error-code="misc,no-untyped-def,untyped-decorator,import-untyped,assignment"

from heapq import heappop, heappush

import numpy as np
from numba import njit

from hidewright.planning.bench import NEVER


@njit(cache=True, nogil=True)
def fits(jobs):
    """Whether one machine can do jobs in time that it may split: earliest deadline first.

    Args:
        jobs: ``(jobs, 3) int64``: release, deadline and minutes of each.

    >>> fits(np.array([(0, 10, 6), (2, 6, 4)])), fits(np.array([(0, 9, 6), (2, 6, 4)]))
    (True, False)
    """
    in_line = np.argsort(jobs[:, 0])
    queue = [(2 * NEVER, np.int64(0))]  # behind all that there is
    now = 0
    for number in range(len(in_line)):
        job = jobs[in_line[number]]
        release, deadline, minutes = job[0], job[1], job[2]
        if len(queue) == 1 and now < release:
            now = release
        heappush(queue, (deadline, minutes))
        then = jobs[in_line[number + 1], 0] if number + 1 < len(in_line) else NEVER
        while len(queue) > 1 and now < then:
            due, left = heappop(queue)
            done = min(left, then - now)
            now += done
            if now > due:
                return False
            if left > done:
                heappush(queue, (due, left - done))
    return True
