"""Do the carried things fit, come in and out, can they be gripped, and does something hold them.

A thing is taken as a slab: a rounded rectangle in plan (a disc is one whose corners meet) with
rounded edges (a rod is one whose edges meet). Its *envelope* is the slab grown by the clearances
asked for. It fits when the envelope lies inside the real inner surface of the dry hollow: wall,
lean, crown and plan corners, section by section from flesh face to crown.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.hollow import Hollow
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.geometry.distance import signed_distances, width_across
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats
from hidewright.geometry.shapes import rectangle

#: How much of a thing must be gripped to draw it out, mm (common practice, no source).
GRIP_MM = 8.0
#: Share of a hollow that small loose things fill (random packing of discs about 0.55-0.6).
LOOSE_FILL = 0.55
#: Nobody stacks more of a thing in a pocket.
MOST_STACKED = 50
#: An envelope may touch the inner surface; beyond this it is too tight, mm.
TOUCH_MM = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class Slab:
    """A thing as it lies in the hollow: width along x, length along y (the way in), mm.

    Attributes:
        length_mm: Along y.
        width_mm: Along x.
        thickness_mm: Along z.
        corner_radius_mm: Of its plan corners.
        edge_radius_mm: Of its upper and lower edges.
        outline: Its own outline seen from above, if it is no rounded rectangle; its bounds are the
            length and width.
    """

    length_mm: float
    width_mm: float
    thickness_mm: float
    corner_radius_mm: float = 0.0
    edge_radius_mm: float = 0.0
    outline: Outline | None = None

    def grown(self, side_mm: float, depth_mm: float) -> "Slab":
        """Return it with room all round: each side, and in all over its thickness."""
        edge = self.edge_radius_mm + min(side_mm, depth_mm / 2)
        return Slab(
            length_mm=self.length_mm + 2 * side_mm,
            width_mm=self.width_mm + 2 * side_mm,
            thickness_mm=self.thickness_mm + depth_mm,
            corner_radius_mm=self.corner_radius_mm + side_mm,
            edge_radius_mm=min(edge, (self.thickness_mm + depth_mm) / 2),
            outline=offset(self.outline, side_mm) if self.outline and side_mm else self.outline,
        )

    def inset_at(self, height_mm: float) -> float:
        """Return how far its side has come in at a height over its lower face, mm."""
        e = self.edge_radius_mm
        from_face = min(height_mm, self.thickness_mm - height_mm)
        if from_face >= e:
            return 0.0
        return e - math.sqrt(max(e * e - (e - from_face) ** 2, 0.0))

    @property
    def plan(self) -> Outline:
        """Its outline seen from above, centred on the origin."""
        if self.outline is not None:
            left, bottom, right, top = self.outline.bounds
            return self.outline.moved(-(left + right) / 2, -(bottom + top) / 2)
        short = min(self.length_mm, self.width_mm)
        return rectangle(self.width_mm, self.length_mm, min(self.corner_radius_mm, short / 2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Inside sizes of a hollow, dry, mm."""

    width_mm: float
    height_mm: float
    depth_mm: float


def slab_of(one: Carried) -> Slab:
    """Return the slab of all pieces of one carried thing as they are arranged, bare."""
    t = one.thing
    thickness = max(t.thickness_mm, t.thickness_max_mm)
    if t.shape == "disc":
        slab = Slab(
            length_mm=t.diameter_mm,
            width_mm=t.diameter_mm,
            thickness_mm=thickness,
            corner_radius_mm=t.diameter_mm / 2,
            edge_radius_mm=t.edge_radius_mm,
        )
    elif t.shape == "rod":
        slab = Slab(
            length_mm=t.length_mm,
            width_mm=t.diameter_mm,
            thickness_mm=t.diameter_mm,
            corner_radius_mm=t.edge_radius_mm,
            edge_radius_mm=t.diameter_mm / 2,
        )
    elif t.shape == "outline" and t.outline is not None:
        slab = Slab(
            length_mm=t.outline.height,
            width_mm=t.outline.width,
            thickness_mm=thickness,
            edge_radius_mm=t.edge_radius_mm,
            outline=t.outline,
        )
    else:
        slab = Slab(
            length_mm=t.length_mm,
            width_mm=t.width_mm,
            thickness_mm=thickness,
            corner_radius_mm=t.corner_radius_mm,
            edge_radius_mm=t.edge_radius_mm,
        )
    if one.across:
        slab = replace(
            slab,
            length_mm=slab.width_mm,
            width_mm=slab.length_mm,
            outline=slab.outline.rotated(math.pi / 2) if slab.outline else None,
        )
    if one.count == 1 or one.arrangement == "loose":
        return slab
    if one.arrangement == "stacked":
        return replace(slab, thickness_mm=slab.thickness_mm * one.count)
    between = one.side_clearance_mm * (one.count - 1)
    return replace(slab, width_mm=slab.width_mm * one.count + between)


def envelope(carried: tuple[Carried, ...]) -> Slab:
    """Return one slab with its clearances that holds everything carried.

    Things side by side make one row across the width; that row and each stacked thing lie over one
    another. Loose things need their own volume and are not in it (see ``fit_remarks``).
    """
    row = [(slab_of(c), c) for c in carried if c.arrangement == "side by side"]
    layers = [
        slab_of(c).grown(c.side_clearance_mm, c.depth_clearance_mm)
        for c in carried
        if c.arrangement == "stacked" or (c.arrangement == "loose" and len(carried) == 1)
    ]
    if row:
        room = [s.grown(c.side_clearance_mm, c.depth_clearance_mm) for s, c in row]
        layers.append(
            Slab(
                length_mm=max(s.length_mm for s in room),
                width_mm=math.fsum(s.width_mm for s in room),
                thickness_mm=max(s.thickness_mm for s in room),
                corner_radius_mm=min(s.corner_radius_mm for s in room),
                edge_radius_mm=min(s.edge_radius_mm for s in room),
            )
        )
    if len(layers) == 1:
        return layers[0]
    if not layers:
        raise RequestError(
            "nothing is carried",
            because="the hollow takes its size from what goes in",
            mend="Add a thing under carried",
        )
    return Slab(
        length_mm=max(s.length_mm for s in layers),
        width_mm=max(s.width_mm for s in layers),
        thickness_mm=math.fsum(s.thickness_mm for s in layers),
        corner_radius_mm=min(s.corner_radius_mm for s in layers),
        edge_radius_mm=min(s.edge_radius_mm for s in layers),
    )


def clearance_in(hollow: Hollow, slab: Slab, below_mouth_mm: float = 0.0) -> float:
    """Return the least room between a slab and the hollow's inner surface, mm.

    The slab lies in the middle of the width, on the lower face, its upper end at the mouth (or in
    the middle of a hollow without one). Negative when it does not go in; measured level, in the
    plane of each section.

    Args:
        hollow: Dry hollow with its mouth (if any) towards +y.
        slab: With or without clearances.
        below_mouth_mm: How far its upper end lies below the mouth; negative stands proud.
    """
    upper, lower = hollow.shells
    spare = hollow.depth_mm - slab.thickness_mm
    if spare < -TOUCH_MM and not hollow.is_open:
        return spare
    left, bottom, right, top = hollow.outline.bounds
    plan = slab.plan
    x = (left + right) / 2
    y = (bottom + top) / 2
    if hollow.mouth:
        y = hollow.mouth_y_mm - below_mouth_mm - slab.length_mm / 2
    points = _plan_points(plan)
    least = math.inf
    # between two shells a thing lies in the middle, else on the flat side or on the floor
    low = -lower.depth_mm + (spare / 2 if lower.depth_mm > 0 and upper.depth_mm > 0 else 0.0)
    for h in _section_heights(slab, hollow, low):
        z = low + h
        if hollow.is_open and z > upper.depth_mm:
            continue
        shell, over = (upper, z) if z >= 0 else (lower, -z)
        wall_inset = shell.inset_at(min(over, shell.depth_mm))
        inset = slab.inset_at(h)
        section = points[:, :2] - points[:, 2:] * inset + np.array([x, y])
        within = section[section[:, 1] < hollow.mouth_y_mm - 1e-6] if hollow.mouth else section
        room = signed_distances(hollow.outline, within, hollow.mouth)
        least = min(least, float(np.min(room, initial=math.inf)) - wall_inset)
    return least


def room_for(carried: tuple[Carried, ...], hollow_of: Callable[[Room], Hollow]) -> Room:
    """Return the smallest room, equal all round, in which what is carried fits with its clearances.

    Args:
        carried: At least one thing.
        hollow_of: The kind's hollow of a given room, with its radii.

    Returns:
        Room whose sizes are rounded up to 0.5 mm.
    """
    slab = envelope(carried)
    mouth = _below_mouth(carried)

    def room(extra: float) -> Room:
        trial = Room(
            width_mm=slab.width_mm + 2 * extra,
            height_mm=slab.length_mm + extra + mouth,
            depth_mm=slab.thickness_mm,
        )
        if hollow_of(trial).mouth:
            return trial
        return replace(trial, height_mm=slab.length_mm + 2 * extra)

    def fits(extra: float) -> bool:
        try:
            hollow = hollow_of(room(extra))
        except RequestError:
            return False  # its radii do not go into so small a room
        return clearance_in(hollow, slab, mouth) >= -TOUCH_MM / 2

    step, extra = 8.0, 0.0
    while not fits(extra):
        extra += step
        if extra > 400.0:
            raise RequestError(
                "no hollow of this shape holds what is carried",
                mend="Make the crown and corner radii smaller",
            )
    low = max(extra - step, 0.0)
    for _ in range(10):
        middle = (low + extra) / 2
        low, extra = (low, middle) if fits(middle) else (middle, extra)
    exact = room(extra)
    return Room(
        width_mm=_up(exact.width_mm), height_mm=_up(exact.height_mm), depth_mm=_up(exact.depth_mm)
    )


def fit_remarks(
    hollow: Hollow,
    carried: tuple[Carried, ...],
    held_by: str,
    remedies: tuple[Remedy, ...] = (),
) -> tuple[Remark, ...]:
    """Return what stands in the way of putting the things in, holding them and drawing them out.

    Args:
        hollow: The dry room.
        carried: What goes in.
        held_by: What keeps it in; empty if nothing does.
        remedies: Changes of the design file with which everything would fit.
    """
    if not carried:
        return (
            Remark(
                code="nothing-carried",
                severity="note",
                place=hollow.name,
                sentence="Nothing is carried, so the hollow is not checked against anything.",
            ),
        )
    slab = envelope(carried)
    below = _below_mouth(carried)
    remarks = [*_size_remarks(hollow, slab, below, remedies), *_loose_remarks(hollow, carried)]
    remarks += _way_remarks(hollow, slab, carried, remedies)
    if hollow.mouth and not held_by:
        remarks.append(
            Remark(
                code="nothing-holds-it",
                severity="warning",
                place=hollow.name,
                sentence="Nothing named holds the things in: they can fall out of the mouth.",
            )
        )
    return tuple(remarks)


def what_fits(hollow: Hollow, things: Iterable[Thing]) -> tuple[tuple[Thing, int], ...]:
    """Return which things go into a hollow with the usual clearances, and how many stacked.

    Args:
        hollow: The dry room.
        things: To try, one by one.

    Returns:
        (thing, most that fit on one another) for those of which at least one fits; things longer
        than the hollow may stand proud of a mouth by up to a third of their length.
    """
    found: list[tuple[Thing, int]] = []
    for thing in things:
        one = slab_of(Carried(thing=thing))
        proud = max(one.length_mm - hollow.outline.height, 0.0) if hollow.mouth else 0.0
        if proud > one.length_mm / 3:
            continue
        most = 0
        while most < MOST_STACKED:
            stack = envelope((Carried(thing=thing, count=most + 1),))
            if clearance_in(hollow, stack, -proud) < -TOUCH_MM:
                break
            most += 1
        if most:
            found.append((thing, most))
    return tuple(found)


def _below_mouth(carried: tuple[Carried, ...]) -> float:
    return max(c.mouth_clearance_mm for c in carried)


def _size_remarks(
    hollow: Hollow, slab: Slab, below_mouth_mm: float, remedies: tuple[Remedy, ...]
) -> list[Remark]:
    room = clearance_in(hollow, slab, below_mouth_mm)
    if room >= -TOUCH_MM:
        return []
    if hollow.depth_mm < slab.thickness_mm - TOUCH_MM and not hollow.is_open:
        need = _up(slab.thickness_mm)
        return [
            Remark(
                code="too-thick",
                severity="forbids",
                place=hollow.name,
                amount=hollow.depth_mm,
                limit=need,
                sentence=(
                    f"With its clearance what is carried is {slab.thickness_mm:.1f} mm thick; "
                    f"the hollow is {hollow.depth_mm:.1f} mm deep inside."
                ),
                remedies=remedies,
            )
        ]
    short = -room
    return [
        Remark(
            code="too-tight",
            severity="forbids",
            place=hollow.name,
            amount=room,
            limit=0.0,
            sentence=(
                f"With its clearances what is carried is {slab.width_mm:.1f} x "
                f"{slab.length_mm:.1f} mm and touches the inside of wall, crown or corners by "
                f"{short:.1f} mm."
            ),
            remedies=remedies,
        )
    ]


def _way_remarks(
    hollow: Hollow, slab: Slab, carried: tuple[Carried, ...], remedies: tuple[Remedy, ...]
) -> list[Remark]:
    if not hollow.mouth:
        return _reach_remarks(hollow, slab)
    found: list[Remark] = []
    bottom = hollow.outline.bounds[1]
    narrowest, wide = _tightest_place(hollow, slab, _below_mouth(carried))
    if narrowest < wide - TOUCH_MM:
        found.append(
            Remark(
                code="way-in-too-narrow",
                severity="forbids",
                place=hollow.name,
                amount=narrowest,
                limit=wide,
                sentence=(
                    f"On its way in the thing passes a place {narrowest:.1f} mm wide; it needs "
                    f"{wide:.1f} mm."
                ),
                remedies=remedies,
            )
        )
    length = max(slab_of(c).length_mm for c in carried)
    proud = bottom + length - hollow.mouth_y_mm
    grip = hollow.grip_mm + proud
    if grip < GRIP_MM:
        found.append(
            Remark(
                code="hard-to-grip",
                severity="warning",
                place=hollow.name,
                amount=max(grip, 0.0),
                limit=GRIP_MM,
                sentence=(
                    f"Only {max(grip, 0.0):.1f} mm of the thing can be gripped when it is pushed "
                    f"home; {GRIP_MM:g} mm is wanted, by a deeper thumb notch or a lower mouth."
                ),
            )
        )
    return found


def _reach_remarks(hollow: Hollow, slab: Slab) -> list[Remark]:
    """Say when fingers cannot take a thing out of a hollow it is laid into from above."""
    proud = max(slab.thickness_mm - hollow.depth_mm, 0.0)
    grip = hollow.grip_mm + proud
    wanted = min(GRIP_MM, hollow.depth_mm)
    if grip >= wanted:
        return []
    return [
        Remark(
            code="hard-to-take-out",
            severity="note",
            place=hollow.name,
            amount=grip,
            limit=wanted,
            sentence=(
                f"Fingers reach only {grip:.1f} mm down beside the thing; {wanted:g} mm is "
                "wanted: leave room for a finger, or tip it out."
            ),
        )
    ]


def _tightest_place(hollow: Hollow, slab: Slab, below_mouth_mm: float) -> tuple[float, float]:
    """Return (width of the hollow, width that passes there) where least room is left, mm.

    At a place as much passes as comes to rest further in: all of a slab over its middle; of a
    thing with an outline of its own, the widest that it is from there inwards.
    """
    stop = hollow.mouth_y_mm - 0.1
    if slab.outline is None:
        rest = hollow.outline.bounds[1] + slab.length_mm / 2
        places = [(float(y), slab.width_mm) for y in np.linspace(min(rest, stop), stop, 25)]
    else:
        top = hollow.mouth_y_mm - below_mouth_mm
        points = slab.plan.flat_points() + np.array([0.0, top - slab.length_mm / 2])
        inner = max(float(points[:, 1].min()), hollow.outline.bounds[1]) + 0.1
        places = []
        for y in np.linspace(min(inner, stop), stop, 50):
            passing = points[points[:, 1] <= y, 0]
            places.append((float(y), float(np.ptp(passing)) if len(passing) else 0.0))
    widths = [(width_across(hollow.outline, y), wide) for y, wide in places]
    return min(widths, key=lambda pair: pair[0] - pair[1])


def _loose_remarks(hollow: Hollow, carried: tuple[Carried, ...]) -> list[Remark]:
    loose = [c for c in carried if c.arrangement == "loose"]
    if not loose:
        return []
    solid = math.fsum(c.count * _volume(slab_of(c)) for c in loose)
    inside = hollow.outline.area * hollow.depth_mm
    share = solid / inside
    if share <= LOOSE_FILL:
        return []
    fit = math.floor(LOOSE_FILL * inside / solid * sum(c.count for c in loose))
    return [
        Remark(
            code="too-many",
            severity="forbids",
            place=hollow.name,
            amount=share,
            limit=LOOSE_FILL,
            sentence=(
                f"The loose things would fill {share:.0%} of the hollow; about {LOOSE_FILL:.0%} "
                f"is what tumbles in. About {fit} of them fit."
            ),
        )
    ]


def _volume(slab: Slab) -> float:
    return slab.plan.area * slab.thickness_mm


def _plan_points(plan: Outline) -> Floats:
    """Return (n, 4): points of a plan about 2 mm apart and the outward normals there."""
    n = max(48, math.ceil(plan.length / 2.0))
    rows = [(*plan.point_at(s), *plan.normal_at(s)) for s in np.linspace(0, plan.length, n, False)]
    return np.array(rows)


def _section_heights(slab: Slab, hollow: Hollow, low: float) -> list[float]:
    """Return heights over the slab's lower face at which wall or edge can touch, mm."""
    t, e = slab.thickness_mm, slab.edge_radius_mm
    heights = {0.0, t, t / 2}
    rounds = [e * (1 - math.cos(a)) for a in np.linspace(0.0, math.pi / 2, 7)]
    heights |= {h for r in rounds for h in (r, t - r)}
    for shell, sign in zip(hollow.shells, (1.0, -1.0), strict=True):
        c = shell.crown_radius_mm
        for a in np.linspace(0.0, math.pi / 2, 7):
            z = sign * (shell.depth_mm - c * (1 - math.sin(a)))
            heights.add(z - low)
    return sorted(h for h in heights if 0.0 <= h <= t)


def _up(mm: float) -> float:
    """Round up to half a mm, what a maker sets."""
    return math.ceil(round(mm * 2, 3)) / 2
