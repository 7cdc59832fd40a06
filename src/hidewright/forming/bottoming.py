"""A cavity with a floor: what it takes to close it on leather that the plug's face pushes up to it.

Two things keep a floor from coming down. Leather thicker than the room between face and floor must
be squeezed thinner. And a stiff sheet stands off the plug's face beside the crown; where that is
more than the room, the floor holds it down.
"""

from dataclasses import dataclass

import numpy as np

from hidewright.forming.arcs import arcs_of, column_mean, pull_across
from hidewright.forming.law import bending_shear_MPa
from hidewright.forming.mesh import CAP, CROWN
from hidewright.forming.pattern import Ints
from hidewright.forming.pressing import Pressing
from hidewright.forming.solved import Pressed
from hidewright.geometry.segment import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottoming:
    """What a floor meets over one plug.

    Attributes:
        room_mm: Between the plug's face and the floor.
        thinnest_mm: Of the leather on the plug's face, formed.
        thickest_mm: Of the same.
        stands_off_mm: How far it stands off the face at most, with nothing over it.
        squeeze_N: Squeezes it to the room, where it is thicker.
        hold_down_N: Holds it down to the face, where it stands off too far.
    """

    room_mm: float
    thinnest_mm: float
    thickest_mm: float
    stands_off_mm: float
    squeeze_N: float
    hold_down_N: float

    @property
    def force_N(self) -> float:
        """Both together."""
        return self.squeeze_N + self.hold_down_N


def on_floor(pressed: Pressed, hollow: int, room_mm: float, thicker: float = 1.0) -> Bottoming:
    """Return what a floor over a plug's face meets.

    Squeezed leather spreads: it is as thin as the room when it is stretched by so much more. Its
    law gives what that takes in its plane, the sheet round it still pulls as before, and the rest
    is pressure: p = sigma(C') - T/room, without friction on face and floor, so a lower bound.
    Pressed to the face, a band that would straighten over the length l = sqrt(D/T) presses with the
    shear D/(r l) of a beam under tension T bent to the radius r at its end.

    Args:
        pressed: The solved sheet, over tools.
        hollow: Number of the plug.
        room_mm: Between its face and the floor.
        thicker: Leather so many times as thick as was solved.
    """
    pressing, layout = pressed.pressing, pressed.layout
    assert isinstance(pressing, Pressing)
    own = np.flatnonzero((layout.hollow == hollow) & (layout.region == CAP))
    h = thicker * pressed.thickness[own]
    area = pressed.sheet.metric.area[own]
    off = _off_the_face(pressed, hollow)
    return Bottoming(
        room_mm=room_mm,
        thinnest_mm=float(h.min()),
        thickest_mm=float(h.max()),
        stands_off_mm=float(off.max()),
        squeeze_N=float(_pressure(pressed, own, h, room_mm) @ area),
        hold_down_N=_held_down_N(pressed, hollow, off, room_mm - float(h.mean()), thicker),
    )


def off_the_middle(pressed: Pressed, hollow: int) -> float:
    """Return how far a sheet stands off the plug's face in the middle, with nothing over it, mm.

    The most there can be: leather is reckoned elastic, and wet leather gives way to bending.
    """
    layout = pressed.layout
    own = np.flatnonzero((layout.hollow == hollow) & (layout.region == CAP))
    middles = pressed.shape.points[layout.triangles[own]].mean(axis=1)
    away = np.linalg.norm(middles[:, :2] - middles[:, :2].mean(axis=0), axis=1)
    nearest = int(away.argmin())
    under = middles[nearest, 2] - pressed.thickness[own[nearest]] / 2.0
    return max(float(under - _face_mm(pressed, hollow)), 0.0)


def _pressure(pressed: Pressed, own: Ints, h: Floats, room_mm: float) -> Floats:
    """(len,) MPa that squeezes triangles of thickness h to the room; 0 where they fit."""
    law = pressed.sheet.law
    more = np.maximum(h / room_mm, 1.0) ** (1.0 / law.thinning_exponent)
    squeezed = _in_plane(pressed, own, more) * h / np.minimum(h, room_mm)
    tension = _in_plane(pressed, own, np.ones_like(more)) * h / np.minimum(h, room_mm)
    return np.asarray(np.where(h > room_mm, np.maximum(squeezed - tension, 0.0), 0.0))


def _in_plane(pressed: Pressed, own: Ints, more: Floats) -> Floats:
    """(len,) mean tension over formed thickness, MPa, of triangles with their area times ``more``.

    Tension is t/J F S F^T; its mean is half its trace, t/(2 J) S : C.
    """
    c11, c22, c12 = pressed.state.c[:, own] * more
    first = pressed.sheet.law.at(c11, c22, c12).first
    trace = 2.0 * (first[0] * c11 + first[1] * c22 + first[2] * c12)
    j = np.sqrt(c11 * c22 - c12 * c12)
    t = pressed.sheet.thickness_mm
    mean: Floats = 0.5 * t / j * trace / pressed.thickness[own]
    return mean


def _off_the_face(pressed: Pressed, hollow: int) -> Floats:
    """(columns,) how far the sheet's under side stands off the plug's face at its edge, mm."""
    section, on = pressed.shape.sections[hollow], pressed.warm.arcs[hollow]
    return np.maximum(section.cap_z - on.crown_h / 2.0 - _face_mm(pressed, hollow), 0.0)


def _face_mm(pressed: Pressed, hollow: int) -> float:
    """Height of a plug's face in the frame of the solved sheet, mm."""
    pressing = pressed.pressing
    assert isinstance(pressing, Pressing)
    tools = pressing.hollows[hollow].tools
    return tools.depth_mm - tools.thickness_mm / 2.0


def _held_down_N(
    pressed: Pressed, hollow: int, off: Floats, left_mm: float, thicker: float
) -> float:
    """What presses a sheet down that stands off by more than is left under the floor."""
    layout, shape = pressed.layout, pressed.shape
    pressing = pressed.pressing
    assert isinstance(pressing, Pressing)
    on = pressed.warm.arcs[hollow]
    arcs = arcs_of(layout, shape)
    tension = np.zeros(len(layout.triangles))
    tension[arcs.own] = pull_across(arcs, pressed.sheet, pressed.state).tension
    pull = thicker * np.maximum(column_mean(layout, tension, hollow, CROWN), 0.0)
    h = thicker * on.crown_h
    stiffness = bending_shear_MPa(pressed.sheet.law) * h**3 / 3.0
    radius = pressing.hollows[hollow].tools.crown_radius_mm + h / 2.0
    too_far = np.where(off > 0, np.clip(1.0 - left_mm / np.maximum(off, 1e-9), 0.0, 1.0), 0.0)
    ring = shape.points[layout.bands[hollow].grid[:, 0], :2]
    length = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    shear = np.sqrt(stiffness * pull) / radius
    return float((too_far * shear) @ (0.5 * (length + np.roll(length, 1))))
