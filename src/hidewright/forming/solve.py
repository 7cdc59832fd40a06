"""From the formed surface back to the flat sheet: what follows from step to step.

The order of a solve from nothing: a neo-Hooke sheet without edge force, loosely; then the real law
with what is known only from the last step taken along from step to step (the force of a free edge,
friction on the arcs, how thin the sheet is on the arcs, where a given blank's edge comes to lie).
From a ``Warm`` start only the second part is run.
"""

import math
from collections.abc import Sequence

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
from hidewright.forming.energy import Sheet, State, metric_of, thinned
from hidewright.forming.law import FibreSheet, Law, NeoHooke, bending_shear_MPa
from hidewright.forming.mesh import CROWN, FLANGE, LIP, edge_of, fits, sampled, shape
from hidewright.forming.meshing import meshed
from hidewright.forming.newton import (
    Ground,
    Newton,
    Stuck,
    TurnedOver,
    first_upright,
    rigid_modes,
    unbalance,
)
from hidewright.forming.pressing import GivenSurface, Pressing
from hidewright.forming.profile import OnArcs
from hidewright.forming.solved import Conditions, Pressed, Warm
from hidewright.geometry.distance import inside_ring, nearest_on_ring
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats

#: Friction that keeps a free sheet from drifting, MPa; 0.02 N on a hand-sized flange.
PIN_MPA = 1e-5
#: A solve is done when forces balance to this share, and ...
BALANCE = 1e-5
#: ... the arcs' thickness has stopped changing, mm (by more, where the balance may be rougher, as
#: its root), and ...
SETTLED_MM = 2e-4
#: ... the edge has come to lie on the blank's, mm.
ON_BLANK_MM = 0.003
#: The sheet's turn round the crown is widened at most this much from one step to the next, mm ...
EASE_STEP_MM = 0.5
#: ... and after so many steps less, down to this share, so that columns do not chase one another.
PATIENCE, LEAST_SHARE = 5.0, 0.3
#: A mesh this much finer is tried once when a solve is given up.
FINER = 0.75
#: So many times the edge of a blank may be asked past a lip before it is believed.
FAR_TURNS = 3
#: Steps in all, and without coming nearer, before a solve is given up.
ROUNDS, PATIENT_ROUNDS = 120, 40


def pressed(
    pressing: Pressing | GivenSurface,
    conditions: Conditions,
    size_mm: float,
    warm: Warm | None = None,
    blank: Outline | None = None,
    balance: float = BALANCE,
) -> Pressed:
    """Return the sheet pressed: where every point of the formed surface lay flat.

    Args:
        pressing: The formed surface and its edge. Asks "which blank?" when ``blank`` is None.
        conditions: Material and friction.
        size_mm: Side of a triangle, mm; of the mesh that is made when ``warm`` does not fit.
        warm: An earlier solve of the same make, to begin from.
        blank: The blank as laid in, soaked: asks "where does its edge go?"; ``pressing.edge`` is
            then only where the first guess begins, such as the blank itself.
        balance: To what share forces must balance; what follows them is settled alike.

    Raises:
        RequestError: When a radius is too small, the hollow is deeper than the blank allows, or no
            balance was found: an unbalanced sheet is never returned.
    """
    start = warm if warm is not None and fits(warm.layout, pressing) else None
    if start is not None:
        try:
            return _Solve(pressing, conditions, blank, balance).from_warm(start)
        except (Stuck, TurnedOver):
            pass  # too far from where it began: begin anew
    try:
        first = _Solve(pressing, conditions, blank, balance)
        try:
            return first.from_nothing(size_mm)
        except (Stuck, TurnedOver):
            if first.past_lip:
                raise _past_lip() from None
            return _Solve(pressing, conditions, blank, balance).from_nothing(FINER * size_mm)
    except TurnedOver:
        raise RequestError(
            "no flat sheet gives this form",
            because="triangles of the sheet turn over: it would have to be stretched or pushed "
            "together without end",
            mend="Give less depth, larger radii in plan, or a wider piece of leather",
        ) from None
    except Stuck as stuck:
        raise RequestError(
            "no balance was found for this form",
            because=f"forces stay out of balance by {stuck.residual:.2%} of their size",
            mend="Give less depth or larger radii",
        ) from None


def _past_lip() -> RequestError:
    return RequestError(
        "the blank would be drawn in past the lip",
        because="it is too small for the depth: nothing of it would stay on the flange",
        mend="Give a larger blank, or less depth",
    )


class _Solve:
    """One solve's working state; it lives only inside ``pressed``."""

    def __init__(
        self,
        pressing: Pressing | GivenSurface,
        conditions: Conditions,
        blank: Outline | None,
        balance: float,
    ) -> None:
        self.pressing = pressing
        self.conditions = conditions
        self.blank = blank
        self.balance = balance
        self.settled_mm = SETTLED_MM * math.sqrt(balance / BALANCE)
        self.blank_ring = None if blank is None else blank.flat_points(0.002)
        c, s = math.cos(pressing.backbone), math.sin(pressing.backbone)
        self.axes = np.array([[c, -s], [s, c]])  # row vector times this: into the leather's axes
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
        return self._finished(self._balanced(flat, law, self.balance, lag=True))

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
            raise TurnedOver
        flat = (warm.flat + self.shape.plan - warm.plan) @ self.axes
        return self._finished(self._balanced(flat, self.conditions.law, self.balance, lag=True))

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
        laid = self.shape.points[:, :2] @ self.axes
        held = layout.held.any() or self.conditions.friction * pressure > 0
        self.ground = Ground(
            layout=layout,
            laid=laid,
            drag=area * (2.0 * self.conditions.friction * pressure + PIN_MPA),
            drift=None if held else rigid_modes(layout, laid, area),
        )

    def _sheet(self, law: Law) -> Sheet:
        t = self.pressing.thickness_mm
        bend = np.zeros_like(self.kappa)
        if self.conditions.level >= 3:
            bend = bending_shear_MPa(law) * t**2 * self.kappa**2 / 6.0
        return Sheet(self.layout.triangles, self.metric, law, t, self.soften, bend)

    # -- balance ------------------------------------------------------------------------------

    def _balanced(self, flat: Floats, law: Law, balance: float, *, lag: bool) -> Floats:
        newton = Newton(self.layout)
        try:
            return self._by_steps(newton, flat, law, balance, lag=lag)
        finally:
            newton.done()

    def _by_steps(
        self, newton: Newton, flat: Floats, law: Law, balance: float, *, lag: bool
    ) -> Floats:
        sheet = self._sheet(law)
        flat, state = first_upright(sheet, [flat])
        residual = np.inf
        best = (np.inf, 0)
        for turn in range(ROUNDS):
            self.rounds += 1
            still = not lag or self.nothing_follows
            if residual < 1e-2 and not still:
                still, after = self._follow(sheet, state, flat)
                if after:
                    sheet = self._sheet(law)
                    flat, state = first_upright(sheet, after)
            load = self._load(sheet, state, flat) if lag else np.zeros_like(flat)
            off = unbalance(self.ground, sheet, state, flat, load)
            self.scale = off.scale
            before, residual = residual, off.share
            newton.keep_while_quick(before, residual)
            if residual < balance and still:
                self.residual = residual
                self.sheet, self.state = sheet, state
                return flat
            if residual < 0.7 * best[0] or not still:
                best = (residual, turn)
            elif turn - best[1] > PATIENT_ROUNDS:
                raise Stuck(residual)
            flat, state = newton.step(self.ground, sheet, state, flat, off, load)
        raise Stuck(residual)

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
        still = float(np.linalg.norm(change)) < 2.0 * self.balance * self.scale
        around = True
        if self.conditions.level >= 1:
            arcs = self._on_arcs(sheet, state, pull)
            around = max(map(_changed, arcs, self.arcs)) < self.settled_mm
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
