"""What can be bought and carried: leathers, boards, threads, needles, magnets, things."""
