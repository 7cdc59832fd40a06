"""From the formed surface back to the flat sheet: Newton's method on the energy.

The order of a solve from nothing: a neo-Hooke sheet without edge force, loosely; then the real law
with what is known only from the last step taken along from step to step (the force of a free edge,
friction on the arcs, how thin the sheet is on the arcs, where a given blank's edge comes to lie).
From a ``Warm`` start only the second part is run.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from hidewright.errors import RequestError
from hidewright.forming.arcs import (
    Pull,
    arc_friction,
    arcs_of,
    column_mean,
    evened,
    hoop_under_pressure,
    pull_across,
    standing_off,
    under_pressure,
)
from hidewright.forming.energy import (
    Sheet,
    State,
    blocks,
    energy,
    gradient,
    metric_of,
    strained,
)
from hidewright.forming.law import FibreSheet, Law, NeoHooke, bending_shear_MPa
from hidewright.forming.mesh import CROWN, FLANGE, LIP, Layout, Shape, edge_of, fits, sampled, shape
from hidewright.forming.meshing import meshed
from hidewright.forming.pattern import Factor, Refactor
from hidewright.forming.pressing import GivenSurface, Pressing
from hidewright.forming.profile import OnArcs
from hidewright.geometry.distance import inside_ring, nearest_on_ring
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats

#: 0 plain membrane on the nominal surface; 1 formed thickness on the arcs; 2 and pressure through
#: the thickness softening the arcs; 3 and the energy of bending round them.
Level = Literal[0, 1, 2, 3]

#: Length over which friction under the plate builds up, mm.
SLIP_MM = 0.05
#: Friction that keeps a free sheet from drifting, MPa; 0.02 N on a hand-sized flange.
PIN_MPA = 1e-5
#: A solve is done when forces balance to this share, and ...
BALANCE = 1e-5
#: ... the arcs' thickness has stopped changing, mm, and ...
SETTLED_MM = 2e-4
#: ... the edge has come to lie on the blank's, mm.
ON_BLANK_MM = 0.003
#: The sheet's turn round the crown is widened at most this much from one step to the next, mm ...
EASE_STEP_MM = 0.5
#: ... and after so many steps less, down to this share, so that columns do not chase one another.
PATIENCE, LEAST_SHARE = 5.0, 0.3
#: A mesh this much finer is tried once when a solve is given up.
FINER = 0.75
#: No triangle shrinks below this share in one step: from a sliver there is no quick way back.
LEAST_SHRINK = 0.2
#: Below this the last factor serves again, as long as each step leaves less than this share.
REUSED_BELOW, REUSED_SHARE = 2e-3, 0.3
#: So many times the edge of a blank may be asked past a lip before it is believed.
FAR_TURNS = 3
#: Steps in all, and without coming nearer, before a solve is given up.
ROUNDS, PATIENT_ROUNDS = 120, 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """How the sheet is pressed, besides its form.

    Attributes:
        law: Material, soaked.
        friction: Coefficient between wet leather and tool, 0 to 1.
        plate_pressure_MPa: Pressure of the plate or ring on the flange, MPa.
        arc_friction: Coefficient on the crown and lip arcs where it differs from ``friction``.
        level: Corrections for a sheet as thick as the radii are tight.
        pull_in_factor: How far this leather's edge is drawn in, over what is solved.
    """

    law: Law
    friction: float = 0.0
    plate_pressure_MPa: float = 0.0
    arc_friction: float | None = None
    level: Level = 2
    pull_in_factor: float = 1.0

    def __post_init__(self) -> None:
        for friction in (self.friction, self.friction_on_arcs):
            if not (math.isfinite(friction) and 0.0 <= friction <= 1.0):
                raise RequestError(
                    f"friction of {friction:g}",
                    because="between wet leather and a tool it lies between 0 and 1",
                )
        if not (math.isfinite(self.plate_pressure_MPa) and self.plate_pressure_MPa >= 0):
            raise RequestError(f"plate pressure of {self.plate_pressure_MPa:g} MPa")
        if self.level not in (0, 1, 2, 3):
            raise RequestError(f"correction level {self.level}", mend="Give 0, 1, 2 or 3")

    @property
    def friction_on_arcs(self) -> float:
        """Coefficient of friction on the crown and lip arcs."""
        return self.friction if self.arc_friction is None else self.arc_friction


@dataclass(frozen=True, kw_only=True, eq=False)
class Warm:
    """Where a solve ended, for the next one to begin.

    Attributes:
        layout: Points and triangles.
        size_mm: Mesh size it was made for.
        plan: (n, 2) the mesh's plan then, mm.
        flat: (n, 2) flat places, mm.
        edge: (k, 2) formed places of the leather's edge, mm.
        arcs: The sheet on the arcs of each hollow.
        from_tools: (n, 2) friction and pressure of the tools, brought back to the flat, N.
    """

    layout: Layout
    size_mm: float
    plan: Floats
    flat: Floats
    edge: Floats
    arcs: tuple[OnArcs, ...]
    from_tools: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Pressed:
    """The solved sheet. Places are in the pressing's frame, strains in the leather's axes.

    Attributes:
        pressing: What was pressed; its edge is the edge asked for, see ``shape`` for a given blank.
        conditions: How.
        layout: Points and triangles.
        shape: Formed places.
        flat: (n, 2) where each point lay flat, mm.
        sheet: Metric and material.
        state: Strain and energy in triangles.
        thickness: (m,) of the formed sheet in triangles, mm.
        curvature: (m,) across the edge, of the arcs, 1/mm; 0 elsewhere.
        residual: Forces out of balance, as a share.
        rounds: Newton steps taken.
        warm: Where the next solve may begin.
    """

    pressing: Pressing | GivenSurface
    conditions: Conditions
    layout: Layout
    shape: Shape
    flat: Floats
    sheet: Sheet
    state: State
    thickness: Floats
    curvature: Floats
    residual: float
    rounds: int
    warm: Warm


def pressed(
    pressing: Pressing | GivenSurface,
    conditions: Conditions,
    size_mm: float,
    warm: Warm | None = None,
    blank: Outline | None = None,
) -> Pressed:
    """Return the sheet pressed: where every point of the formed surface lay flat.

    Args:
        pressing: The formed surface and its edge. Asks "which blank?" when ``blank`` is None.
        conditions: Material and friction.
        size_mm: Side of a triangle, mm; of the mesh that is made when ``warm`` does not fit.
        warm: An earlier solve of the same make, to begin from.
        blank: The blank as laid in, soaked: asks "where does its edge go?"; ``pressing.edge`` is
            then only where the first guess begins, such as the blank itself.

    Raises:
        RequestError: When a radius is too small, the hollow is deeper than the blank allows, or no
            balance was found: an unbalanced sheet is never returned.
    """
    start = warm if warm is not None and fits(warm.layout, pressing) else None
    if start is not None:
        try:
            return _Solve(pressing, conditions, blank).from_warm(start)
        except (_Stuck, _TurnedOver):
            pass  # too far from where it began: begin anew
    try:
        first = _Solve(pressing, conditions, blank)
        try:
            return first.from_nothing(size_mm)
        except (_Stuck, _TurnedOver):
            if first.past_lip:
                raise _past_lip() from None
            return _Solve(pressing, conditions, blank).from_nothing(FINER * size_mm)
    except _TurnedOver:
        raise RequestError(
            "no flat sheet gives this form",
            because="triangles of the sheet turn over: it would have to be stretched or pushed "
            "together without end",
            mend="Give less depth, larger radii in plan, or a wider piece of leather",
        ) from None
    except _Stuck as stuck:
        raise RequestError(
            "no balance was found for this form",
            because=f"forces stay out of balance by {stuck.residual:.1e} of their size",
            mend="Give less depth or larger radii, or a finer mesh",
        ) from None


def _past_lip() -> RequestError:
    return RequestError(
        "the blank would be drawn in past the lip",
        because="it is too small for the depth: nothing of it would stay on the flange",
        mend="Give a larger blank, or less depth",
    )


class _Stuck(Exception):  # noqa: N818 - not an error of the maker's
    def __init__(self, residual: float) -> None:
        super().__init__(residual)
        self.residual = residual


class _TurnedOver(Exception):  # noqa: N818
    """A triangle lies face down."""


class _Solve:
    """One solve's working state; it lives only inside ``pressed``."""

    def __init__(
        self, pressing: Pressing | GivenSurface, conditions: Conditions, blank: Outline | None
    ) -> None:
        self.pressing = pressing
        self.conditions = conditions
        self.blank = blank
        self.blank_ring = None if blank is None else blank.flat_points(0.002)
        c, s = math.cos(pressing.backbone), math.sin(pressing.backbone)
        self.axes = np.array([[c, -s], [s, c]])  # row vector times this: into the leather's axes
        self.factor: Factor | None = None
        self.reply = np.zeros((0, 0))
        self.rounds = 0
        self.follows = 0
        self.past_lip = 0
        self.nothing_follows = blank is None and (
            not pressing.hollows or (conditions.level == 0 and conditions.friction_on_arcs == 0)
        )

    # -- beginnings ---------------------------------------------------------------------------

    def from_nothing(self, size_mm: float) -> Pressed:
        self.size_mm = size_mm
        self.layout = meshed(self.pressing, size_mm)
        edge = edge_of(self.layout, self.pressing)
        t = self.pressing.thickness_mm
        self._form(edge, tuple(OnArcs.even(t, band.columns) for band in self.layout.bands))
        self.from_tools = np.zeros_like(self.shape.plan)
        flat = self.shape.plan @ self.axes
        law = self.conditions.law
        simple: Law = law
        if isinstance(law, FibreSheet):
            # as stiff as the fibres make the sheet at small strains
            mean = 0.5 * (law.fibre_along_MPa + law.fibre_across_MPa)
            simple = NeoHooke(shear_MPa=law.shear_MPa + mean / 4.0)
        elif not isinstance(law, NeoHooke):
            simple = NeoHooke(shear_MPa=law.shear_MPa)
        flat = self._balanced(flat, simple, 1e-3, lag=False)
        return self._finished(self._balanced(flat, law, BALANCE, lag=True))

    def from_warm(self, warm: Warm) -> Pressed:
        self.size_mm = warm.size_mm
        self.layout = warm.layout
        asked = self.blank_ring is None
        edge = edge_of(self.layout, self.pressing) if asked else warm.edge
        self._form(edge, warm.arcs)
        self.from_tools = warm.from_tools
        corners = self.shape.plan[self.layout.triangles]
        u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        if (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).min() <= 0.0:
            raise _TurnedOver
        flat = (warm.flat + self.shape.plan - warm.plan) @ self.axes
        return self._finished(self._balanced(flat, self.conditions.law, BALANCE, lag=True))

    # -- the formed surface -------------------------------------------------------------------

    def _form(self, edge: Floats, arcs: tuple[OnArcs, ...]) -> None:
        """Put the mesh on the surface that these thicknesses and this edge give."""
        self.edge, self.arcs = edge, arcs
        layout, level = self.layout, self.conditions.level
        self.shape = shape(layout, self.pressing, edge, arcs)
        self.metric = metric_of(self.shape, layout.triangles)
        self.on_edges = arcs_of(layout, self.shape)
        m = len(layout.triangles)
        self.soften, self.kappa = np.ones(m), np.zeros(m)
        for k, hollow in enumerate(self.pressing.hollows):
            on = arcs[k]
            for region, h, r in (
                (CROWN, on.crown_h, hollow.tools.crown_radius_mm + on.crown_ease),
                (LIP, on.lip_h, np.full_like(on.lip_h, hollow.tools.lip_radius_mm)),
            ):
                own = np.flatnonzero((layout.hollow == k) & (layout.region == region))
                j = layout.column[own]
                here, radius = (0.5 * (v[j] + np.roll(v, -1)[j]) for v in (h, r))
                if level >= 2:
                    self.soften[own] = under_pressure(here / radius)
                self.kappa[own] = 1.0 / (radius + here / 2.0)
        flange = layout.triangles[layout.region == FLANGE]
        spread = self.metric.area[layout.region == FLANGE] / 3.0
        area: Floats = np.bincount(
            flange.ravel(), weights=np.repeat(spread, 3), minlength=len(layout.plan)
        ).astype(np.float64)
        pressure = self.conditions.plate_pressure_MPa
        self.drag = area * (2.0 * self.conditions.friction * pressure + PIN_MPA)
        self.laid = self.shape.points[:, :2] @ self.axes
        self.drift = self._rigid_modes(area)

    def _rigid_modes(self, area: Floats) -> Floats | None:
        """(3, unknowns) shift and turn of a flange that nothing holds; None when something does.

        A free sheet without friction is unstable sideways: it would slide off the plug. It is kept
        from drifting by forces spread evenly over its flange, as a hand keeps it.
        """
        conditions = self.conditions
        if self.layout.held.any() or conditions.friction * conditions.plate_pressure_MPa > 0:
            return None
        weight = area / area.sum()
        x, y = (self.laid - weight @ self.laid).T
        size = math.sqrt(float(weight @ (x * x + y * y)))
        none = np.zeros_like(x)
        modes = ((weight, none), (none, weight), (-y * weight / size, x * weight / size))
        return np.stack([self.layout.pattern.gathered(np.column_stack(m)) for m in modes])

    def _without_drift(self, out: Floats) -> Floats:
        if self.drift is None:
            return out
        share = np.linalg.solve(self.drift @ self.drift.T, self.drift @ out)
        return out - share @ self.drift

    def _sheet(self, law: Law) -> Sheet:
        t = self.pressing.thickness_mm
        bend = np.zeros_like(self.kappa)
        if self.conditions.level >= 3:
            bend = bending_shear_MPa(law) * t**2 * self.kappa**2 / 6.0
        return Sheet(self.layout.triangles, self.metric, law, t, self.soften, bend)

    # -- Newton -------------------------------------------------------------------------------

    def _balanced(self, flat: Floats, law: Law, balance: float, *, lag: bool) -> Floats:
        self.refactor = Refactor(self.layout.pattern)
        try:
            return self._newton(flat, law, balance, lag=lag)
        finally:
            self.refactor.done()

    def _newton(self, flat: Floats, law: Law, balance: float, *, lag: bool) -> Floats:
        pattern = self.layout.pattern
        sheet = self._sheet(law)
        flat, state = self._first_upright(sheet, [flat])
        residual, self.factor = np.inf, None
        best = (np.inf, 0)
        for turn in range(ROUNDS):
            self.rounds += 1
            still = not lag or self.nothing_follows
            if residual < 1e-2 and not still:
                still, after = self._follow(sheet, state, flat)
                if after:
                    sheet = self._sheet(law)
                    flat, state = self._first_upright(sheet, after)
            load = self._load(sheet, state, flat) if lag else np.zeros_like(flat)
            rest = flat - self.laid
            length = np.sqrt((rest**2).sum(axis=1) + SLIP_MM**2)
            pull = gradient(sheet, state, len(flat))
            drag = self.drag[:, None] * rest / length[:, None]
            out = self._without_drift(pattern.gathered(pull + drag - load))
            self.scale = float(
                np.linalg.norm(pull) + np.linalg.norm(self._size_of_forces(sheet, state))
            )
            before, residual = residual, float(np.linalg.norm(out) / self.scale)
            if not REUSED_BELOW > residual < REUSED_SHARE * before:
                self.factor = None
            if residual < balance and still:
                self.residual = residual
                self.sheet, self.state = sheet, state
                return flat
            if residual < 0.7 * best[0] or not still:
                best = (residual, turn)
            elif turn - best[1] > PATIENT_ROUNDS:
                raise _Stuck(residual)
            flat, state = self._step(sheet, state, flat, out, load)
        raise _Stuck(residual)

    def _first_upright(self, sheet: Sheet, places: Sequence[Floats]) -> tuple[Floats, State]:
        for flat in places:
            state = strained(sheet, flat)
            if state is not None:
                return flat, state
        raise _TurnedOver

    def _size_of_forces(self, sheet: Sheet, state: State) -> Floats:
        """One number a triangle: how hard it pulls at its corners, N."""
        s11, s22, s12 = state.s
        stress = np.abs(s11) + np.abs(s22) + np.abs(s12)
        return np.asarray(sheet.thickness_mm * stress * np.sqrt(state.area))

    def _step(
        self, sheet: Sheet, state: State, flat: Floats, out: Floats, load: Floats
    ) -> tuple[Floats, State]:
        pattern = self.layout.pattern
        rest = flat - self.laid
        length = np.sqrt((rest**2).sum(axis=1) + SLIP_MM**2)

        def factorise(positive: bool) -> None:
            matrix = pattern.matrix(blocks(sheet, state, positive))
            stiff = self.drag / length
            matrix.data[pattern.diagonal] += pattern.gathered(np.column_stack([stiff, stiff]))
            self.factor = self.refactor.of(matrix)
            if self.drift is not None:
                replies = [np.asarray(self.factor.solve(one)) for one in self.drift]
                self.reply = np.column_stack(replies)

        if self.factor is None:
            factorise(False)
        step = self._direction(out)
        downhill = np.isfinite(step).all() and float(out @ step) <= 0
        found = self._along(step, sheet, state, flat, out, load) if downhill else None
        if found is None:
            factorise(True)
            found = self._along(self._direction(out), sheet, state, flat, out, load)
            self.factor = None
        if found is None:
            raise _Stuck(float(np.linalg.norm(out)) / self.scale)
        return found

    def _along(
        self,
        step: Floats,
        sheet: Sheet,
        state: State,
        flat: Floats,
        out: Floats,
        load: Floats,
    ) -> tuple[Floats, State] | None:
        """Go along a step as far as the energy falls (Armijo); None when it does not."""

        def merit(at: Floats, there: State) -> float:
            slid = np.sqrt(((at - self.laid) ** 2).sum(axis=1) + SLIP_MM**2)
            return energy(sheet, there) + float(self.drag @ slid) - float((load * at).sum())

        slope = float(out @ step)
        move = self.layout.pattern.spread(step)
        begin = merit(flat, state)
        tolerance = 1e-10 * abs(begin)
        share = 1.0
        for _ in range(30):
            at = flat + share * move
            there = strained(sheet, at)
            if (
                there is not None
                and (there.area > LEAST_SHRINK * state.area).all()
                and merit(at, there) <= begin + 1e-4 * share * slope + tolerance
            ):
                return at, there
            share *= 0.5
        return None

    def _direction(self, out: Floats) -> Floats:
        """Newton's step by the last factor, without what would let the whole sheet drift."""
        assert self.factor is not None
        step = np.asarray(self.factor.solve(-out))
        if self.drift is None:
            return step
        back = np.linalg.solve(self.drift @ self.reply, self.drift @ step)
        return step - self.reply @ back

    # -- what is carried from step to step ----------------------------------------------------

    def _follow(self, sheet: Sheet, state: State, flat: Floats) -> tuple[bool, Sequence[Floats]]:
        """Bring surface and tool forces up to date.

        Returns whether all is still as it was; and flat places to go on from when the surface is
        not, the likeliest first.
        """
        arcs, edge = self.arcs, self.edge
        self.follows += 1
        pull = pull_across(self.on_edges, sheet, state)
        change = self._from_tools(sheet, state, pull) - self.from_tools
        self.from_tools = self.from_tools + self._share_taken() * change
        still = float(np.linalg.norm(change)) < 2.0 * BALANCE * self.scale
        around = True
        if self.conditions.level >= 1:
            arcs = self._on_arcs(sheet, state, pull)
            around = max(map(_changed, arcs, self.arcs)) < SETTLED_MM
        if self.blank_ring is not None:
            lies = flat[self.layout.edge] @ self.axes.T
            off = self._on_blank(self.blank_ring, lies) - lies
            off[self.layout.held[self.layout.edge]] = 0.0
            if float(np.abs(off).max()) > ON_BLANK_MM:
                around = False
                edge = edge + self._kept_off_lips(edge, off)
        if around:
            return still, ()
        before = self.shape.plan
        self._form(edge, arcs)
        return False, (flat + (self.shape.plan - before) @ self.axes, flat)

    def _on_blank(self, ring: Floats, lies: Floats) -> Floats:
        """(k, 2) where on the given blank's edge the points of the edge belong.

        Points begun on the blank keep their places on it, so that its corners stay corners; to the
        nearest place, all those beyond a corner would run together in it.
        """
        begun = self.pressing.edge if isinstance(self.pressing, Pressing) else None
        if isinstance(begun, Outline) and begun == self.blank:
            return sampled(begun, self.layout.edge_counts)[0]
        return nearest_on_ring(ring, lies)

    def _kept_off_lips(self, edge: Floats, off: Floats) -> Floats:
        """How far the edge is moved, not so far that it would slip over a lip."""
        lips = [band.grid[:, -1] for band in self.layout.bands]
        if not any(inside_ring(self.shape.plan[lip], edge + off).any() for lip in lips):
            return off
        self.past_lip += 1
        if self.past_lip > FAR_TURNS:
            raise _past_lip()
        return 0.5 * off

    def _share_taken(self) -> float:
        """Share of what has changed that is taken along: all at first, less against see-saws."""
        return max(LEAST_SHARE, min(1.0, PATIENCE / (1.0 + self.follows)))

    def _on_arcs(self, sheet: Sheet, state: State, pull: Pull) -> tuple[OnArcs, ...]:
        h = thinned(sheet, state)
        tension = np.zeros_like(h)
        tension[self.on_edges.own] = pull.tension
        found = []
        for k, hollow in enumerate(self.pressing.hollows):
            crown_h, lip_h = (column_mean(self.layout, h, k, region) for region in (CROWN, LIP))
            ease = np.zeros_like(crown_h)
            if self.conditions.level >= 3:
                turn = self.shape.sections[k].turn
                off = standing_off(
                    hollow.tools.crown_radius_mm + crown_h / 2.0,
                    bending_shear_MPa(sheet.law) * crown_h**3 / 3.0,
                    column_mean(self.layout, tension, k, CROWN),
                    turn,
                )
                before = self.arcs[k].crown_ease
                change = np.clip(
                    evened(off / (1.0 - np.cos(turn))) - before, -EASE_STEP_MM, EASE_STEP_MM
                )
                ease = before + change * self._share_taken()
            found.append(OnArcs(crown_h=crown_h, lip_h=lip_h, crown_ease=ease))
        return tuple(found)

    def _load(self, sheet: Sheet, state: State, flat: Floats) -> Floats:
        """Forces known from the last step only: the free edge's, and the tools' on the arcs."""
        load = self.from_tools.copy()
        t, a, b = self.layout.edge_triangles
        side = flat[b] - flat[a]
        outward = np.column_stack([side[:, 1], -side[:, 0]])
        push = 0.5 * sheet.thickness_mm * state.w[t][:, None] * outward
        np.add.at(load, a, push)
        np.add.at(load, b, push)
        load[self.layout.held] = 0.0
        return load

    def _from_tools(self, sheet: Sheet, state: State, pull: Pull) -> Floats:
        """(n, 2) friction on the arcs and the push through the thickness, brought to the flat."""
        points = len(self.shape.points)
        force = np.zeros((points, 2))
        if self.conditions.friction_on_arcs > 0:
            own = self.on_edges.own
            pressing = self.kappa[own] * self.metric.area[own]
            force -= arc_friction(
                self.on_edges, pull, self.conditions.friction_on_arcs, pressing, points
            )
        if self.conditions.level >= 2:
            force += hoop_under_pressure(self.on_edges, pull, sheet, state, points)
        return force

    def _finished(self, flat: Floats) -> Pressed:
        flat = flat @ self.axes.T
        warm = Warm(
            layout=self.layout,
            size_mm=self.size_mm,
            plan=self.shape.plan,
            flat=flat,
            edge=self.edge,
            arcs=self.arcs,
            from_tools=self.from_tools,
        )
        return Pressed(
            pressing=self.pressing,
            conditions=self.conditions,
            layout=self.layout,
            shape=self.shape,
            flat=flat,
            sheet=self.sheet,
            state=self.state,
            thickness=thinned(self.sheet, self.state),
            curvature=self.kappa,
            residual=self.residual,
            rounds=self.rounds,
            warm=warm,
        )


def _changed(new: OnArcs, old: OnArcs) -> float:
    """Largest change of anything on the arcs, mm; wider turns count a tenth."""
    return float(
        max(
            np.abs(new.crown_h - old.crown_h).max(),
            np.abs(new.lip_h - old.lip_h).max(),
            0.1 * np.abs(new.crown_ease - old.crown_ease).max(),
        )
    )


def thinned(sheet: Sheet, state: State) -> Floats:
    """Return (m,) thickness of the formed sheet, mm: t J^-exponent, J the area ratio."""
    j2 = state.c[0] * state.c[1] - state.c[2] ** 2
    h: Floats = sheet.thickness_mm * j2 ** (-0.5 * sheet.law.thinning_exponent)
    return h
