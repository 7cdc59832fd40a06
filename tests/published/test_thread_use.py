"""Thread of a saddle-stitched seam: geometry of the two ends, numbers worked by hand.

Each of the two ends uses (pitch + thickness) in every stitch, so the thread is 2 (1 + T/p) times
the seam. The trade's rule is 3.5 to 4 times a thin seam and 5 times a thick one.
"""

import pytest

from hidewright.stitching.thread_use import sewing_order, thread_length


@pytest.mark.parametrize(
    ("stack", "pitch", "times"),
    [(3.2, 3.0, 4.13), (3.2, 4.0, 3.60), (2.4, 3.4, 3.41), (4.8, 3.4, 4.82)],
)
def test_thread_over_seam_is_twice_one_and_stack_over_pitch(
    stack: float, pitch: float, times: float
) -> None:
    holes = [(i * pitch, 0.0) for i in range(51)]
    thread = thread_length(holes, sewing_order(51, 0), stack, 0.0)
    assert thread / (50 * pitch) == pytest.approx(2 * (1 + stack / pitch), rel=1e-12)
    assert thread / (50 * pitch) == pytest.approx(times, abs=0.005)


def test_a_seam_of_300_mm_with_two_tails_of_150_mm_takes_1464_7_mm() -> None:
    # 300 mm at 3.4 mm are 88.2 stitches: the formula's seam is 88.2 chords, ours whole ones
    whole = [(i * 3.4, 0.0) for i in range(89)]
    thread = thread_length(whole, sewing_order(89, 0), 3.2, 150.0)
    share = 300.0 / (88 * 3.4)
    assert (thread - 300.0) * share + 300.0 == pytest.approx(1464.7, abs=0.05)


def test_stitches_sewn_back_are_paid_for_at_both_ends() -> None:
    holes = [(0.0, 0.0), (3.0, 0.0), (3.0, 4.0), (8.0, 4.0), (8.0, 10.0)]
    chords, stack = [3.0, 4.0, 5.0, 6.0], 2.5
    once = 2 * (sum(chords) + 4 * stack)
    back = 2 * ((3.0 + 4.0) + (5.0 + 6.0) + 4 * stack)
    thread = thread_length(holes, sewing_order(5, 2), stack, 100.0)
    assert thread == pytest.approx(once + back + 200.0, abs=1e-12)
