"""Newton's method on the sheet's energy over a surface that stays as it is for one step."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.forming.energy import (
    Sheet,
    State,
    blocks,
    energy,
    gradient,
    strained,
)
from hidewright.forming.mesh import Layout
from hidewright.forming.pattern import Factor, Refactor
from hidewright.geometry.segment import Floats

#: Length over which friction under the plate builds up, mm.
SLIP_MM = 0.05
#: No triangle shrinks below this share in one step: from a sliver there is no quick way back.
LEAST_SHRINK = 0.2
#: Below this the last factor serves again, as long as each step leaves less than this share.
REUSED_BELOW, REUSED_SHARE = 2e-3, 0.3


class Stuck(Exception):  # noqa: N818 - not an error of the maker's
    """No balance was found; ``residual`` is how far forces are out of it, as a share."""

    def __init__(self, residual: float) -> None:
        super().__init__(residual)
        self.residual = residual


class TurnedOver(Exception):  # noqa: N818
    """A triangle lies face down."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Ground:
    """What the sheet lies on.

    Attributes:
        layout: Points and triangles.
        laid: (n, 2) places in plan of the formed points, in the leather's axes, mm.
        drag: (n,) friction under the plate at each point, N.
        drift: (3, unknowns) shift and turn that nothing holds; None when something does.
    """

    layout: Layout
    laid: Floats
    drag: Floats
    drift: Floats | None

    def slid(self, flat: Floats) -> tuple[Floats, Floats]:
        """Return how far points have slid, (n, 2) mm, and its length made smooth, (n,) mm."""
        rest = flat - self.laid
        return rest, np.sqrt((rest**2).sum(axis=1) + SLIP_MM**2)

    def without_drift(self, out: Floats) -> Floats:
        """Return forces on the unknowns less those that would only shift or turn the sheet."""
        if self.drift is None:
            return out
        share = np.linalg.solve(self.drift @ self.drift.T, self.drift @ out)
        return out - share @ self.drift


def rigid_modes(layout: Layout, laid: Floats, area: Floats) -> Floats:
    """Return (3, unknowns) shift and turn of a flange that nothing holds.

    A free sheet without friction is unstable sideways: it would slide off the plug. It is kept
    from drifting by forces spread evenly over its flange, as a hand keeps it.

    Args:
        layout: Points and triangles.
        laid: (n, 2) places in plan, mm.
        area: (n,) of the flange that each point stands for, mm2.
    """
    weight = area / area.sum()
    x, y = (laid - weight @ laid).T
    size = math.sqrt(float(weight @ (x * x + y * y)))
    none = np.zeros_like(x)
    modes = ((weight, none), (none, weight), (-y * weight / size, x * weight / size))
    return np.stack([layout.pattern.gathered(np.column_stack(m)) for m in modes])


def first_upright(sheet: Sheet, places: Sequence[Floats]) -> tuple[Floats, State]:
    """Return the first flat position in which no triangle is turned over, and its state.

    Raises:
        TurnedOver: When there is none.
    """
    for flat in places:
        state = strained(sheet, flat)
        if state is not None:
            return flat, state
    raise TurnedOver


@dataclass(frozen=True, kw_only=True, eq=False)
class Unbalance:
    """Forces at a flat position.

    Attributes:
        out: (unknowns,) what is out of balance, N.
        scale: The size of all forces, N.
    """

    out: Floats
    scale: float

    @property
    def share(self) -> float:
        """Out of balance, as a share."""
        return float(np.linalg.norm(self.out) / self.scale)


def unbalance(ground: Ground, sheet: Sheet, state: State, flat: Floats, load: Floats) -> Unbalance:
    """Return what is out of balance under a load (n, 2), N."""
    rest, length = ground.slid(flat)
    pull = gradient(sheet, state, len(flat))
    drag = ground.drag[:, None] * rest / length[:, None]
    out = ground.without_drift(ground.layout.pattern.gathered(pull + drag - load))
    # one number a triangle: how hard it pulls at its corners, N
    s11, s22, s12 = state.s
    stress = np.abs(s11) + np.abs(s22) + np.abs(s12)
    sizes = np.asarray(sheet.thickness_mm * stress * np.sqrt(state.area))
    return Unbalance(out=out, scale=float(np.linalg.norm(pull) + np.linalg.norm(sizes)))


class Newton:
    """Steps downhill on one mesh; keeps the last factor while it serves."""

    def __init__(self, layout: Layout) -> None:
        self.refactor = Refactor(layout.pattern)
        self.factor: Factor | None = None
        self.reply = np.zeros((0, 0))

    def done(self) -> None:
        """Give back what the factors hold."""
        self.refactor.done()

    def keep_while_quick(self, before: float, residual: float) -> None:
        """Forget the factor unless it brought the sheet much nearer to a balance that is near."""
        if not REUSED_BELOW > residual < REUSED_SHARE * before:
            self.factor = None

    def step(
        self,
        ground: Ground,
        sheet: Sheet,
        state: State,
        flat: Floats,
        off: Unbalance,
        load: Floats,
    ) -> tuple[Floats, State]:
        """Return the next flat position and its state.

        Raises:
            Stuck: When the energy falls along no step.
        """
        if self.factor is None:
            self._factorise(ground, sheet, state, flat, False)
        step = self._direction(ground, off.out)
        downhill = np.isfinite(step).all() and float(off.out @ step) <= 0
        found = _along(ground, step, sheet, state, flat, off.out, load) if downhill else None
        if found is None:
            self._factorise(ground, sheet, state, flat, True)
            step = self._direction(ground, off.out)
            found = _along(ground, step, sheet, state, flat, off.out, load)
            self.factor = None
        if found is None:
            raise Stuck(float(np.linalg.norm(off.out)) / off.scale)
        return found

    def _factorise(
        self, ground: Ground, sheet: Sheet, state: State, flat: Floats, positive: bool
    ) -> None:
        pattern = ground.layout.pattern
        matrix = pattern.matrix(blocks(sheet, state, positive))
        stiff = ground.drag / ground.slid(flat)[1]
        matrix.data[pattern.diagonal] += pattern.gathered(np.column_stack([stiff, stiff]))
        self.factor = self.refactor.of(matrix)
        if ground.drift is not None:
            replies = [np.asarray(self.factor.solve(one)) for one in ground.drift]
            self.reply = np.column_stack(replies)

    def _direction(self, ground: Ground, out: Floats) -> Floats:
        """Newton's step by the last factor, without what would let the whole sheet drift."""
        assert self.factor is not None
        step = np.asarray(self.factor.solve(-out))
        if ground.drift is None:
            return step
        back = np.linalg.solve(ground.drift @ self.reply, ground.drift @ step)
        return step - self.reply @ back


def _along(
    ground: Ground,
    step: Floats,
    sheet: Sheet,
    state: State,
    flat: Floats,
    out: Floats,
    load: Floats,
) -> tuple[Floats, State] | None:
    """Go along a step as far as the energy falls (Armijo); None when it does not."""

    def merit(at: Floats, there: State) -> float:
        slid = ground.slid(at)[1]
        return energy(sheet, there) + float(ground.drag @ slid) - float((load * at).sum())

    slope = float(out @ step)
    move = ground.layout.pattern.spread(step)
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
