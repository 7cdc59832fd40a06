"""How fast leather dries, pressed closed and then open on the plug, and what heat it bears.

The moisture left follows the diffusion out of a slab; how fast, follows from thickness, open faces
and air. What is known and what is not:

    published   shape of the slab's curve (Crank, The Mathematics of Diffusion, 1975, ch. 4);
                time as air speed to the power -0.6 up to about 2.5 mm, and linear in thickness but
                not proportional to it: both for chrome leather of 2.0 to 4.5 mm in moving air of
                2.0 to 7.8 m/s ("The drying characteristics of chrome-tanned leather", Society of
                Leather Technologists and Chemists, read as abstract, which gives no coefficients)
    assumed     that both hold for vegetable-tanned leather of any thickness in a room; the time at
                2 mm and how steeply it rises with thickness (``TimeLaw``); below 2 mm time as
                thickness; the least air speed of a still room
    rules       twice the air speed dries in 0.66 of the time, twice the vapour deficit in half;
                one open face counts as twice the thickness; a covered face lets nothing out
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.optimize import brentq

from hidewright.catalogue.checks import must_be_positive, must_not_be_negative
from hidewright.errors import Remark, RequestError
from hidewright.geometry.segment import Floats

Faces = Literal["edges", "vents", "one", "two"]
Region = Literal["flange", "zone"]

#: Thickness, both faces open, for which a time law states its hours: thinnest of the published law.
REFERENCE_MM = 2.0
#: Air of the reference: a room at 20 degrees C, half saturated.
REFERENCE_C, REFERENCE_HUMIDITY = 20.0, 0.5
#: Air never stands quite still beside a drying surface, m/s; assumed.
STILL_AIR_M_S = 0.15
#: Time goes with air speed to minus this (published, see above).
AIR_SPEED_POWER = 0.6
#: Wet leather lies closed between boards no longer, h; common practice, no source.
CLOSED_AT_MOST_H = 12.0
#: Air above this dries the outside shut while the inside is wet, degrees C; from memory.
AIR_AT_MOST_C = 40.0
#: Soaking water, degrees C: no remark up to the first, a warning from the second, forbidden from
#: the third. Wet vegetable-tanned fibres begin to shrink at 64 (chestnut, by micro hot table,
#: Heritage Science 2019, s40494-019-0292-8, table 3); the third stays nearly 10 below.
SOAK_C = (40.0, 45.0, 55.0)
#: Below this Fourier number the slab is as good as infinitely thick.
SHORT_FOURIER = 1e-3
#: Terms of the series that matter from there on: the next is below exp(-64).
SERIES = 2.0 * np.arange(40) + 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeLaw:
    """How long a leather takes to dry.

    Attributes:
        tau_hours: Slowest time constant of leather 2.0 mm thick, both faces open, in a still room
            at 20 degrees C and 50 % humidity; it is 95 % dry after 2.79 of them. 3.2 is assumed: a
            night, about what evaporation from a wet surface alone would take.
        thickness_slope: Per cent longer for each per cent thicker at 2.0 mm. 1 where only the
            surface limits (time as thickness), 2 where only diffusion does (as its square);
            1.5 is assumed.
    """

    tau_hours: float = 3.2
    thickness_slope: float = 1.5

    def __post_init__(self) -> None:
        must_be_positive("drying time", tau_hours=self.tau_hours)
        if not 1.0 <= self.thickness_slope <= 2.0:
            raise RequestError(
                f"drying time: thickness_slope is {self.thickness_slope:g}",
                because="thicker leather dries at least as much longer as it is thicker, and at "
                "most as the square of that",
                mend="Give 1 to 2",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingStage:
    """A stretch of time in which the leather lies in one way in one air.

    Attributes:
        name: What the maker calls it, such as ``pressed closed``.
        hours: How long.
        faces: Where water gets out: only at the edges, through vents of the tool on one side, at
            one face, or at two. The first two are closed between boards.
        vent_share: Share of that one side that the vents leave bare; for ``vents``.
        edge_to_edge_mm: Narrow width of the sheet from open edge to open edge; for ``edges``.
        temperature_C: Of the air.
        humidity: Of the air, relative, as a share: 0.5 is 50 %.
        air_speed_m_s: Over the leather; still air counts as 0.15.
        holds: The regions that cannot shrink meanwhile: the flange under its plate or ring, the
            zone on the plug.
    """

    name: str
    hours: float
    faces: Faces
    vent_share: float | None = None
    edge_to_edge_mm: float | None = None
    temperature_C: float = REFERENCE_C
    humidity: float = REFERENCE_HUMIDITY
    air_speed_m_s: float = STILL_AIR_M_S
    holds: frozenset[Region] = frozenset({"flange", "zone"})

    def __post_init__(self) -> None:
        must_not_be_negative(self.name, hours=self.hours, air_speed_m_s=self.air_speed_m_s)
        if not 0.0 <= self.temperature_C <= 60.0:
            raise RequestError(
                f"{self.name}: air of {self.temperature_C:g} °C",
                because="leather is dried between 0 and 60 °C",
            )
        if not 0.0 <= self.humidity <= 0.95:
            raise RequestError(
                f"{self.name}: humidity is {self.humidity:g}",
                because="it is a share between 0 and 0.95; in damper air nothing dries",
                mend="Write 50 % as 0.5",
            )
        if self.faces == "vents" and not 0.0 < (self.vent_share or 0.0) <= 1.0:
            raise RequestError(
                f"{self.name}: vents without their share of the face",
                mend="Give vent_share above 0 and up to 1, or take faces: edges",
            )
        if self.faces == "edges" and not (self.edge_to_edge_mm or 0.0) > 0.0:
            raise RequestError(
                f"{self.name}: only the edges are open and the width between them is not given",
                mend="Give edge_to_edge_mm",
            )

    @property
    def is_closed(self) -> bool:
        """Whether the leather lies between boards."""
        return self.faces in ("edges", "vents")


def slab_moisture(fourier: Floats | float) -> Floats:
    """Return the share of its water that a slab still holds, both faces kept dry.

    (8/pi^2) sum (2n+1)^-2 exp(-(2n+1)^2 pi^2 Fo); 1 - 4 sqrt(Fo/pi) while the slab is as good as
    infinitely thick (Crank, The Mathematics of Diffusion, 1975, ch. 4).

    Args:
        fourier: D t / L^2, L the thickness; 0 or more, any shape.

    Example:
        >>> float(slab_moisture(0.04918).round(4))
        0.5
    """
    fo = np.asarray(fourier, dtype=np.float64)
    decays = np.exp(-(SERIES**2) * np.pi**2 * fo[..., None])
    series = 8.0 / np.pi**2 * np.sum(decays / SERIES**2, axis=-1)
    left: Floats = np.where(fo < SHORT_FOURIER, 1.0 - 4.0 * np.sqrt(fo / np.pi), series)
    return left


def slab_fourier(moisture: float) -> float:
    """Return the Fourier number at which a slab holds a share of its water: the inverse.

    The root lies below -ln(moisture)/pi^2, for the slowest term bounds all others.

    Raises:
        RequestError: The share is not above 0 and up to 1; a slab never dries wholly.
    """
    if not 0.0 < moisture <= 1.0:
        raise RequestError(
            f"leather with {moisture:g} of its water left",
            because="it dries ever slower and is never wholly dry",
            mend="Ask for a dryness of 0 or more and below 1, such as 0.95",
        )
    short = math.pi * ((1.0 - moisture) / 4.0) ** 2
    if short < SHORT_FOURIER:
        return short
    most = -math.log(moisture) / math.pi**2
    least = SHORT_FOURIER / 2.0
    return float(brentq(lambda fo: float(slab_moisture(fo)) - moisture, least, most, xtol=1e-15))


def wet_bulb(temperature_C: float, humidity: float) -> float:
    """Return the temperature that a wet surface takes in air, degrees C.

    e_sat(w) - A p (T - w) = RH e_sat(T), with the psychrometer coefficient A = 6.53e-4
    (1 + 9.44e-4 w) per kelvin at sea level (constants of the World Meteorological Organization's
    guide to instruments, from memory).

    Args:
        temperature_C: Of the air.
        humidity: Relative, as a share.
    """
    vapour = humidity * _saturation(temperature_C)

    def off(w: float) -> float:
        cooling = 6.53e-4 * (1.0 + 9.44e-4 * w) * 1013.25 * (temperature_C - w)
        return _saturation(w) - cooling - vapour

    return float(brentq(off, temperature_C - 60.0, temperature_C))


def vapour_deficit(temperature_C: float, humidity: float) -> float:
    """Return how much more vapour the air at a wet surface holds than the room's, g/m3.

    Args:
        temperature_C: Of the room.
        humidity: Of the room, relative, as a share.
    """
    w = wet_bulb(temperature_C, humidity)
    return _density(_saturation(w), w) - _density(
        humidity * _saturation(temperature_C), temperature_C
    )


def time_factor(stage: DryingStage, thickness_mm: float, slope: float) -> float:
    """Return how many times longer than the reference leather a leather takes in a stage.

    With x the thickness over 2.0 mm, twice that when one face is closed: 1 + slope (x - 1) from 2.0
    mm on, which is linear and not proportional as published; x below, where nothing is published
    and the surface limits. Vents let out their share of what an open face would. Edges are ends of
    a slab as thick as the sheet is wide: its square, since only diffusion brings water there.

    Args:
        stage: Faces and air.
        thickness_mm: Of the wet leather.
        slope: ``TimeLaw.thickness_slope``.
    """
    must_be_positive("leather", thickness_mm=thickness_mm)
    reference = vapour_deficit(REFERENCE_C, REFERENCE_HUMIDITY)
    air = reference / vapour_deficit(stage.temperature_C, stage.humidity)
    air *= math.pow(max(stage.air_speed_m_s / STILL_AIR_M_S, 1.0), -AIR_SPEED_POWER)
    if stage.faces == "edges":
        assert stage.edge_to_edge_mm is not None
        return air * (stage.edge_to_edge_mm / REFERENCE_MM) ** 2
    x = thickness_mm / REFERENCE_MM * (1.0 if stage.faces == "two" else 2.0)
    bare = (stage.vent_share or 1.0) if stage.faces == "vents" else 1.0
    return air * max(x, 1.0 + slope * (x - 1.0)) / bare


def dryness_path(stages: Sequence[DryingStage], thickness_mm: float, law: TimeLaw) -> Floats:
    """Return how dry the leather is at the end of each stage.

    Args:
        stages: In order, from wet leather.
        thickness_mm: Of the wet leather.
        law: Its drying time.

    Returns:
        (n,) shares of the water given off that it has to give off until it is as dry as the room.
    """
    fourier = np.cumsum([_fourier(s, thickness_mm, law) for s in stages])
    dry: Floats = 1.0 - slab_moisture(fourier)
    return dry


def hours_until(
    dryness: float, stage: DryingStage, thickness_mm: float, law: TimeLaw, begun: float = 0.0
) -> float:
    """Return how long a stage must last to reach a dryness: the inverse of ``dryness_path``.

    Args:
        dryness: Asked for, below 1.
        stage: Its faces and air; its own hours are not looked at.
        thickness_mm: Of the wet leather.
        law: Its drying time.
        begun: How dry the leather is when the stage begins.

    Returns:
        Hours; 0 when it is dry enough already.
    """
    to_go = slab_fourier(1.0 - dryness) - slab_fourier(1.0 - begun)
    tau = law.tau_hours * time_factor(stage, thickness_mm, law.thickness_slope)
    return max(to_go, 0.0) * math.pi**2 * tau


def stage_remarks(
    stages: Sequence[DryingStage], place: str, closed_at_most_h: float = CLOSED_AT_MOST_H
) -> tuple[Remark, ...]:
    """Return remarks on leather that lies closed too long, or dries in air that is too hot.

    Args:
        stages: In order.
        place: The blank they are about.
        closed_at_most_h: The maker's own limit; 12 h is common practice, no source.
    """
    found: list[Remark] = []
    closed = sum(s.hours for s in stages if s.is_closed)
    if closed > closed_at_most_h:
        found.append(
            Remark(
                code="closed-too-long",
                severity="warning",
                place=place,
                amount=closed,
                limit=closed_at_most_h,
                sentence=(
                    f"Wet leather lies closed for {closed:g} h: after {closed_at_most_h:g} h it "
                    "may grow mould and stain. Open the tool and leave it on the plug under its "
                    "ring."
                ),
            )
        )
    hottest = max(stages, key=lambda s: s.temperature_C, default=None)
    if hottest is not None and hottest.temperature_C > AIR_AT_MOST_C:
        found.append(
            Remark(
                code="drying-air-hot",
                severity="warning",
                place=place,
                amount=hottest.temperature_C,
                limit=AIR_AT_MOST_C,
                sentence=(
                    f"{hottest.name}: air of {hottest.temperature_C:g} °C dries the outside hard "
                    f"while the inside is wet. Keep it at {AIR_AT_MOST_C:g} °C or less; moving "
                    "air dries faster too."
                ),
            )
        )
    return tuple(found)


def soak_remarks(water_C: float, place: str) -> tuple[Remark, ...]:
    """Return remarks on soaking water that is too warm for vegetable-tanned leather.

    None up to 40 degrees C, a note up to 45, a warning up to 55, forbidden above: our choice. Such
    leather shrinks for good in water of 75 to 80 degrees C (hydrolysable tannins; condensed ones
    80 to 85; table of a conservation handbook's chapter on leather), but fibres begin at 64.

    Args:
        water_C: Of the soak.
        place: The blank it is about.
    """
    good, warn, never = SOAK_C
    if water_C <= good:
        return ()
    severity: Literal["note", "warning", "forbids"] = "note"
    sentence = f"The soak is at {water_C:g} °C; {good:g} °C, hand-warm, is enough."
    if water_C > never:
        severity = "forbids"
        sentence = (
            f"A soak at {water_C:g} °C shrinks and hardens vegetable-tanned leather for good. "
            f"Let the water cool to {good:g} °C."
        )
    elif water_C > warn:
        severity = "warning"
        sentence = (
            f"A soak at {water_C:g} °C is near what shrinks vegetable-tanned leather. "
            f"Let the water cool to {good:g} °C."
        )
    return (
        Remark(
            code="soak-too-warm",
            severity=severity,
            place=place,
            amount=water_C,
            limit=good,
            sentence=sentence,
        ),
    )


def _fourier(stage: DryingStage, thickness_mm: float, law: TimeLaw) -> float:
    tau = law.tau_hours * time_factor(stage, thickness_mm, law.thickness_slope)
    return stage.hours / (math.pi**2 * tau)


def _saturation(celsius: float) -> float:
    """Return the vapour pressure over water, hPa (Magnus; constants as for ``wet_bulb``)."""
    return 6.112 * math.exp(17.62 * celsius / (243.12 + celsius))


def _density(pressure_hPa: float, celsius: float) -> float:
    """Return the density of water vapour as an ideal gas, g/m3; 461.5 J/(kg K)."""
    return pressure_hPa * 1e5 / (461.5 * (celsius + 273.15))
