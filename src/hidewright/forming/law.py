"""How the wet sheet resists stretching: energies of a thin sheet in its own axes.

All are written in the components of the right Cauchy-Green tensor of the mid-surface,
C = (C11, C22, C12), axis 1 along the backbone and axis 2 across it. W is energy for each mm3 of the
unstretched sheet, so MPa. Each law gives W, its first derivatives by (C11, C22, C12), C12 moving
together with C21, and its second derivatives, for many triangles at once.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np

from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats

#: The exponential of a fibre family is continued as a parabola beyond this exponent, so that a bad
#: first guess does not overflow; real stretches stay below.
EXPONENT_LIMIT = 4.0


class Derivatives(NamedTuple):
    """An energy and its derivatives at n places.

    Attributes:
        w: (n,) energy, MPa.
        first: (3, n) by C11, C22, C12.
        second: (6, n): by 11-11, 22-22, 12-12, 11-22, 11-12, 22-12.
    """

    w: Floats
    first: Floats
    second: Floats


class Law(Protocol):
    """What the solver asks of a material."""

    @property
    def shear_MPa(self) -> float:
        """Shear modulus of the neo-Hooke sheet the solver starts from."""
        ...

    @property
    def thinning_exponent(self) -> float:
        """Thickness is t J^-exponent, J the area ratio; 1 keeps the volume."""
        ...

    def at(self, c11: Floats, c22: Floats, c12: Floats) -> Derivatives:
        """Return energy and derivatives."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class NeoHooke:
    """Incompressible neo-Hooke sheet in plane stress: W = mu/2 (tr C + 1/det C - 3).

    Source: any text on rubber elasticity, such as R. W. Ogden, Non-Linear Elastic Deformations.

    Attributes:
        shear_MPa: mu, MPa, > 0.
    """

    shear_MPa: float

    def __post_init__(self) -> None:
        _positive("shear modulus", self.shear_MPa)

    @property
    def thinning_exponent(self) -> float:
        """Keeps its volume."""
        return 1.0

    def at(self, c11: Floats, c22: Floats, c12: Floats) -> Derivatives:
        """Return energy and derivatives; det C must be > 0."""
        half = 0.5 * self.shear_MPa
        inverse = 1.0 / (c11 * c22 - c12 * c12)
        square = inverse * inverse
        cube2 = 2.0 * square * inverse
        w = half * (c11 + c22 + inverse - 3.0)
        first = np.stack([1.0 - square * c22, 1.0 - square * c11, 2.0 * square * c12])
        second = np.stack(
            [
                cube2 * c22 * c22,
                cube2 * c11 * c11,
                2.0 * square + 4.0 * cube2 * c12 * c12,
                cube2 * c11 * c22 - square,
                -2.0 * cube2 * c22 * c12,
                -2.0 * cube2 * c11 * c12,
            ]
        )
        return Derivatives(w, half * first, half * second)


@dataclass(frozen=True, slots=True, kw_only=True)
class SaintVenantKirchhoff:
    """Orthotropic St. Venant-Kirchhoff sheet in plane stress: W = 1/2 E:Q:E, E Green's strain.

    It softens when pressed together: do not trust it below a stretch of about 0.7.

    Attributes:
        e1_MPa: Young's modulus along axis 1, MPa.
        e2_MPa: The same along axis 2.
        nu12: Poisson's ratio: shrinkage along 2 for stretch along 1.
        g12_MPa: Shear modulus in the plane.
        thinning_exponent: Thickness is t J^-exponent.
    """

    e1_MPa: float
    e2_MPa: float
    nu12: float
    g12_MPa: float
    thinning_exponent: float = 1.0

    def __post_init__(self) -> None:
        _positive("Young's modulus along", self.e1_MPa)
        _positive("Young's modulus across", self.e2_MPa)
        _positive("shear modulus", self.g12_MPa)
        if not (math.isfinite(self.nu12) and self.nu12**2 * self.e2_MPa < self.e1_MPa):
            raise RequestError(
                f"Poisson's ratio {self.nu12:g} between moduli {self.e1_MPa:g} and "
                f"{self.e2_MPa:g} MPa",
                because="the material would not be stable: nu12 squared must stay below E1/E2",
            )
        if not 0.0 <= self.thinning_exponent <= 2.0:
            raise RequestError(f"thinning exponent {self.thinning_exponent:g}")

    @property
    def shear_MPa(self) -> float:
        """A third of the mean Young's modulus, as of an incompressible sheet."""
        return math.sqrt(self.e1_MPa * self.e2_MPa) / 3.0

    @property
    def stiffnesses(self) -> tuple[float, float, float, float]:
        """(Q11, Q22, Q12, Q66) in plane stress, MPa."""
        nu21 = self.nu12 * self.e2_MPa / self.e1_MPa
        share = 1.0 - self.nu12 * nu21
        q12 = self.nu12 * self.e2_MPa / share
        return self.e1_MPa / share, self.e2_MPa / share, q12, self.g12_MPa

    def at(self, c11: Floats, c22: Floats, c12: Floats) -> Derivatives:
        """Return energy and derivatives."""
        q11, q22, q12, q66 = self.stiffnesses
        e1, e2, e12 = 0.5 * (c11 - 1.0), 0.5 * (c22 - 1.0), 0.5 * c12
        s1, s2, s12 = q11 * e1 + q12 * e2, q12 * e1 + q22 * e2, 2.0 * q66 * e12
        w = 0.5 * (s1 * e1 + s2 * e2) + s12 * e12
        first = np.stack([0.5 * s1, 0.5 * s2, s12])
        constant = np.array([q11 / 4, q22 / 4, q66, q12 / 4, 0.0, 0.0])
        second = np.repeat(constant[:, None], len(w), axis=1)
        return Derivatives(w, first, second)


@dataclass(frozen=True, slots=True, kw_only=True)
class FibreSheet:
    """Wet leather: a neo-Hooke matrix and two families of fibres that stiffen as they straighten.

    W = mu/2 (tr C + 1/det C - 3) + sum k/(2b) (exp(b e^2) - 1), e = (C_ii - 1)/2, i along and
    across. Exponential fibres after Y. C. Fung's law for collagenous tissue; five numbers, from one
    strip pulled along and one across. Fibres resist being pressed together as much as being pulled.

    Attributes:
        shear_MPa: Matrix mu, MPa, > 0.
        fibre_along_MPa: k of the fibres along the backbone, MPa, >= 0.
        rise_along: b of them, >= 0; larger means they stiffen sooner.
        fibre_across_MPa: k across.
        rise_across: b across.
    """

    shear_MPa: float
    fibre_along_MPa: float
    rise_along: float
    fibre_across_MPa: float
    rise_across: float

    def __post_init__(self) -> None:
        _positive("shear modulus", self.shear_MPa)
        for name, value in (
            ("fibre stiffness along", self.fibre_along_MPa),
            ("fibre rise along", self.rise_along),
            ("fibre stiffness across", self.fibre_across_MPa),
            ("fibre rise across", self.rise_across),
        ):
            if not (math.isfinite(value) and value >= 0):
                raise RequestError(
                    f"{name} of {value:g}",
                    because="with less than nothing the material would not be stable",
                )

    @property
    def thinning_exponent(self) -> float:
        """Keeps its volume."""
        return 1.0

    def at(self, c11: Floats, c22: Floats, c12: Floats) -> Derivatives:
        """Return energy and derivatives; det C must be > 0."""
        base = NeoHooke(shear_MPa=self.shear_MPa).at(c11, c22, c12)
        w = base.w
        for i, c, k, b in (
            (0, c11, self.fibre_along_MPa, self.rise_along),
            (1, c22, self.fibre_across_MPa, self.rise_across),
        ):
            if k > 0:
                energy, slope, bend = _fibre(0.5 * (c - 1.0), k, b)
                w = w + energy
                base.first[i] += 0.5 * slope
                base.second[i] += 0.25 * bend
        return Derivatives(w, base.first, base.second)


def _fibre(e: Floats, k: float, b: float) -> tuple[Floats, Floats, Floats]:
    """Energy of one fibre family with its two derivatives by e; a parabola beyond the limit."""
    if b == 0:
        return 0.5 * k * e * e, k * e, np.full_like(e, k)
    e0 = math.sqrt(EXPONENT_LIMIT / b)
    inner = np.clip(e, -e0, e0)
    rise = np.exp(b * inner * inner)
    w = k / (2.0 * b) * (rise - 1.0)
    slope = k * inner * rise
    bend = k * (1.0 + 2.0 * b * inner * inner) * rise
    over = e - inner
    return w + slope * over + 0.5 * bend * over * over, slope + bend * over, bend


def bending_shear_MPa(law: Law) -> float:
    """Return a quarter of the modulus that resists bending in one direction, MPa."""
    if isinstance(law, FibreSheet):
        return law.shear_MPa + 0.125 * (law.fibre_along_MPa + law.fibre_across_MPa)
    return law.shear_MPa


def strip_modulus_MPa(law: FibreSheet) -> tuple[float, float]:
    """Return the small-strain Young's moduli (along, across) that two strip tests would show, MPa.

    With D11 = 4 mu + k1, D22 = 4 mu + k2, D12 = 2 mu: E1 = D11 - D12^2/D22.
    """
    d1 = 4.0 * law.shear_MPa + law.fibre_along_MPa
    d2 = 4.0 * law.shear_MPa + law.fibre_across_MPa
    d12 = 2.0 * law.shear_MPa
    return d1 - d12**2 / d2, d2 - d12**2 / d1


def _positive(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise RequestError(f"{name} of {value:g} MPa", because="it must be greater than 0")
