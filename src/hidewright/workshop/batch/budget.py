"""How long a search may go on, as it is asked for."""

import time
from collections.abc import Callable

from hidewright.errors import RequestError
from hidewright.planning.schedule import Budget, Told

#: More rounds for a small batch and its proof, when neither rounds nor seconds are asked for.
USUAL_PROOF_ROUNDS = 1500


def budget_for(
    *, seed: int, rounds: int | None, seconds: float | None, usual_rounds: int
) -> Callable[[Told | None], Budget]:
    """Return what makes the budget of whom to tell how far it is; its seconds count from then.

    Args:
        seed: Of the search.
        rounds: Of search at most.
        seconds: Stop after so many by the clock.
        usual_rounds: When neither is asked for; small batches then have more, for their proof.

    Raises:
        RequestError: When they are no such numbers.
    """
    for word, value, low in (("rounds", rounds, 1), ("seed", seed, 0), ("seconds", seconds, 0)):
        if value is not None and not low <= value <= 2**31 - 1:
            raise RequestError(f"{value} {word}", mend=f"Give {low} or more")
    proof_rounds = 0
    if rounds is None and seconds is None:
        rounds, proof_rounds = usual_rounds, USUAL_PROOF_ROUNDS

    def begun(told: Told | None) -> Budget:
        start = time.monotonic()
        left = None if seconds is None else lambda: seconds - (time.monotonic() - start)
        return Budget(rounds=rounds, proof_rounds=proof_rounds, seconds_left=left, told=told)

    return begun
