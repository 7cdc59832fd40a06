"""Hides read from rendered photos of 12 megapixels, against the hides that were rendered.

    PYTHONPATH=tests python benchmarks/photo.py [SEEDS [CARDS ...]]

Each seed is another hide, floor, light, lens and place of the phone. Sizes are in mm; `apart` is
the symmetric Hausdorff distance of the outer edges.
"""

import sys
import time

import numpy as np

from hidewright.errors import RequestError
from hidewright.photo.reading import read_hide
from photo_scene import Floor, Scene, against, cards_round, photo, round_hole, side

FLOORS: tuple[Floor, ...] = ("boards", "tiles", "carpet")
LEATHERS = ((205, 160, 112), (150, 95, 60), (222, 186, 148), (92, 58, 40))


def scene(seed: int, cards: int) -> Scene:
    draw = np.random.default_rng(1000 + seed)
    outline = side(
        seed, length_mm=float(draw.uniform(900, 2300)), height_mm=float(draw.uniform(500, 1000))
    )
    x, y = np.mean(outline, axis=0)
    return Scene(
        seed=seed,
        floor=FLOORS[seed % 3],
        outline=outline,
        holes=(round_hole(float(x), float(y), float(draw.uniform(8, 30))),) if seed % 2 else (),
        cards=cards_round(outline, cards, seed),
        k1=float(draw.choice([-0.03, 0.03])),
        tilt=(
            float(draw.uniform(-25, 25)),
            float(draw.uniform(-15, 15)),
            float(draw.uniform(-9, 9)),
        ),
        leather=LEATHERS[(seed // 3) % 4],
        brightness=float(draw.uniform(0.65, 1.15)),
    )


def main() -> None:
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    counts = [int(word) for word in sys.argv[2:]] or [4, 6]
    print(
        f"{'seed':>5} {'floor':7}{'cards':>6}{'found':>6}{'k1':>7}{'area m2':>9}{'off %':>8}"
        f"{'range %':>9}{'holds':>6}{'apart':>7}{'holes':>6}{'rough':>6}{'s':>6}"
    )
    for seed in range(seeds):
        for count in counts:
            print(_row(scene(seed, count), seed, count), flush=True)


def _row(one: Scene, seed: int, count: int) -> str:
    data = photo(one)
    begun = time.perf_counter()
    first = f"{seed:5} {one.floor:7}{count:6}"
    try:
        reading, _ = read_hide(data, f"seed {seed}.jpg")
    except RequestError as refused:
        return f"{first} {refused}"
    used = time.perf_counter() - begun
    found = against(one, reading)
    low, high = reading.area_range_mm2
    return (
        f"{first}{len(reading.cards):6}{one.k1:7.2f}"
        f"{found.truth_mm2 / 1e6:9.3f}{100 * found.area:8.3f}"
        f"{100 * (high / reading.area_mm2 - 1):9.2f}"
        f"{'yes' if low <= found.truth_mm2 <= high else 'no':>6}{found.apart_mm:7.2f}"
        f"{found.holes:6}{'yes' if reading.rough else 'no':>6}{used:6.1f}"
    )


if __name__ == "__main__":
    main()
