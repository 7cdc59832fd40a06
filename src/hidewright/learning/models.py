"""What a reading should be, given the quantities: closed forms; pressed leather is handed in."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from hidewright.design.bench_reading import BenchReading
from hidewright.learning.belief import Predict, Values
from hidewright.learning.priors import minutes_name
from hidewright.learning.quantities import EXPONENT
from hidewright.learning.update import Observation

#: What pressed leather should measure: from the reading to its prediction.
Pressed = Callable[[BenchReading], Predict]


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogues:
    """What the catalogue reckons with, where a reading is compared with a foretold time.

    Attributes:
        drying_hours: Time constant by which the drying hours were foretold.
        times_hold_at: Batch for which the foretold minutes hold.
    """

    drying_hours: float = 3.2
    times_hold_at: int = 10


def observation(
    key: str, reading: BenchReading, pressed: Pressed, catalogue: Catalogues, before: Values
) -> Observation:
    """Return a reading as the inference takes it.

    Of cracks it is the logarithm of the share of what the leather bears, 0 is all of it. A disc
    that was sound at one depth and cracked at the next was at all of it between the two: half way,
    with half of what is used from the one to the other either way.

    Args:
        key: Its id.
        reading: Not withdrawn.
        pressed: Predicts what is read on pressed leather.
        catalogue: What foretold times were reckoned with.
        before: The quantities before any reading, by name.
    """
    kind = reading.kind
    read = Observation(
        key=key,
        value=0.0 if kind.cracks else reading.value,
        bound=kind.bound,
        error=reading.deviation,
        predict=pressed(reading) if kind.pressed else _plain(reading, catalogue),
        keep=reading.standing == "kept",
    )
    if not kind.cracks or reading.of is None:
        return read
    cracked, sound = read.predict, pressed(replace(reading, value=reading.of, of=None))
    return replace(
        read,
        bound="",
        half=(cracked(before) - sound(before)) / 2.0,
        predict=lambda values: (cracked(values) + sound(values)) / 2.0,
    )


def free_shrinkage(shrinkage: float, held: float) -> float:
    """Return dry over soaked length of leather that dries free.

    A row's shrinkage is what is left when it dries held: ln(1 - shrinkage) = (1 - held) ln(free).
    Tried shrinkages of 1 and more, which no leather has, leave nothing.

    >>> round(free_shrinkage(0.01, 0.8), 4)
    0.951
    """
    return float(max(1.0 - shrinkage, 0.0) ** (1.0 / (1.0 - held)))


def _plain(reading: BenchReading, catalogue: Catalogues) -> Predict:
    of = reading.of or 0.0
    simple: dict[str, Predict] = {
        "kerf": lambda v: v["kerf_mm"],
        "board thickness": lambda v: v["thickness_mm"],
        "leather thickness": lambda v: v["thickness_mm"],
        "soaked length along": lambda v: of * (1.0 + v["soak_growth_along"]),
        "soaked length across": lambda v: of * (1.0 + v["soak_growth_across"]),
        "soaked thickness": lambda v: of * (1.0 + v["soak_growth_thickness"]),
        "dried length along": lambda v: (
            of * free_shrinkage(v["shrinkage_along"], v["held_shrinkage"])
        ),
        "dried length across": lambda v: (
            of * free_shrinkage(v["shrinkage_across"], v["held_shrinkage"])
        ),
        "drying hours": lambda v: of * v["drying_hours"] / catalogue.drying_hours,
    }
    if reading.what in simple:
        return simple[reading.what]

    def minutes(values: Values) -> float:
        faster = (reading.count / catalogue.times_hold_at) ** -values[EXPONENT.name]
        return float(of * values[minutes_name(reading.subject)] * faster)

    return minutes
