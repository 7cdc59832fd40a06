"""How long the command line takes to say its help, and the package to be imported: medians.

Run: python benchmarks/start_time.py
"""

import statistics
import subprocess
import sys
import time

ROUNDS = 9


def main() -> None:
    for name, words in (
        ("import hidewright", ["-c", "import hidewright"]),
        ("hidewright --help", ["-m", "hidewright", "--help"]),
        ("bare python", ["-c", "pass"]),
    ):
        times = []
        for _ in range(ROUNDS):
            start = time.perf_counter()
            subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
            times.append(time.perf_counter() - start)
        print(f"{name:20}{statistics.median(times):7.3f} s, median of {ROUNDS}")


if __name__ == "__main__":
    main()
