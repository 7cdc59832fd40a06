"""Elastic energy of the sheet by where its points lay flat, with first and second derivatives.

The formed surface is known; the flat places X are not. In each triangle, with D the 2 x 2 matrix of
its flat sides and g that of its formed ones (their dot products), the right Cauchy-Green tensor in
the leather's axes is C = D^-T g D^-1, and the energy t det(D)/2 W(C). Moving X by dX changes D,
with L = dD D^-1: dC = -(L^T C + C L). With S = 2 dW/dC and P = C S this gives

    dE = a Sigma : L,             Sigma = W 1 - P      (Eshelby's energy-momentum tensor)
    d2E = a L : M : L',           M_ijkl = W (d_ij d_kl - d_il d_jk) - P_ij d_kl - d_ij P_kl
                                  + d_il P_kj + d_jk P_il + C_ik S_lj + C_im H_mjpl C_pk

a the energy's flat area times thickness and H = 4 d2W/dC2. The stationary point in the interior is
a sheet that slides on frictionless tools: their push is along the normal and does no work.
Source of the energy-momentum tensor: J. D. Eshelby, J. Elasticity 5 (1975) 321.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from hidewright.forming.law import Law
from hidewright.forming.mesh import Shape
from hidewright.forming.pattern import Ints
from hidewright.geometry.segment import Floats

UPPER = tuple((i, j) for i in range(6) for j in range(i, 6))


class Metric(NamedTuple):
    """Dot products of the formed sides of triangles, (m,) each, mm2."""

    g11: Floats
    g22: Floats
    g12: Floats

    @property
    def area(self) -> Floats:
        """(m,) formed area of triangles, mm2."""
        formed: Floats = 0.5 * np.sqrt(np.maximum(self.g11 * self.g22 - self.g12**2, 0.0))
        return formed


def metric_of(shape: Shape, triangles: Ints) -> Metric:
    """Return the formed sides, their lengths taken along the curved surface.

    A side whose ends' normals differ is longer than its chord: L = chord (1 + delta^2/24), delta
    the change of the normal along the side; exact to fourth order on a circle.
    """
    p, n = shape.points[triangles], shape.normals[triangles]

    def square(i: int, j: int) -> Floats:
        side = p[:, j] - p[:, i]
        chord2 = np.einsum("mi,mi->m", side, side)
        turn = np.einsum("mi,mi->m", n[:, j] - n[:, i], side)
        bow = 1.0 + turn * turn / (24.0 * chord2)
        squared: Floats = chord2 * bow * bow
        return squared

    g11, g22, opposite = square(0, 1), square(0, 2), square(1, 2)
    return Metric(g11, g22, 0.5 * (g11 + g22 - opposite))


@dataclass(frozen=True, eq=False)
class State:
    """Strain and stress in triangles at one flat position.

    Attributes:
        area: (m,) flat area, mm2; not all > 0 when triangles are turned over.
        slopes: (3, 2, m) gradients of the corners' shape functions in the flat, 1/mm.
        c: (3, m) C11, C22, C12.
        w: (m,) energy density, MPa, with bending and softening.
        first: (3, m) its derivatives by C.
        second: (6, m) second derivatives, order of ``law.Derivatives``.
    """

    area: Floats
    slopes: Floats
    c: Floats
    w: Floats
    first: Floats
    second: Floats

    @property
    def s(self) -> tuple[Floats, Floats, Floats]:
        """(S11, S22, S12), second Piola-Kirchhoff stress, MPa."""
        return 2.0 * self.first[0], 2.0 * self.first[1], self.first[2]


@dataclass(frozen=True, eq=False)
class Sheet:
    """What the energy depends on besides the flat position.

    Attributes:
        triangles: (m, 3).
        metric: Formed sides.
        law: Material.
        thickness_mm: As laid in.
        soften: (m,) factor on the law's energy on the arcs, for contact pressure through the
            thickness; 1 elsewhere.
        bend: (m,) q of the bending energy q/det C, MPa.
    """

    triangles: Ints
    metric: Metric
    law: Law
    thickness_mm: float
    soften: Floats
    bend: Floats


def strained(sheet: Sheet, flat: Floats) -> State | None:
    """Return the state at a flat position (n, 2) in the leather's axes.

    None when a triangle turns over.
    """
    x, y = flat[:, 0][sheet.triangles.T], flat[:, 1][sheet.triangles.T]
    d11, d12, d21, d22 = x[1] - x[0], x[2] - x[0], y[1] - y[0], y[2] - y[0]
    det = d11 * d22 - d12 * d21
    if not (det > 0).all():
        return None
    b11, b12, b21, b22 = d22 / det, -d12 / det, -d21 / det, d11 / det
    g = sheet.metric
    c11 = b11 * b11 * g.g11 + 2 * b11 * b21 * g.g12 + b21 * b21 * g.g22
    c22 = b12 * b12 * g.g11 + 2 * b12 * b22 * g.g12 + b22 * b22 * g.g22
    c12 = b11 * b12 * g.g11 + (b11 * b22 + b21 * b12) * g.g12 + b21 * b22 * g.g22
    law = sheet.law.at(c11, c22, c12)
    w, first, second = law.w * sheet.soften, law.first * sheet.soften, law.second * sheet.soften
    if sheet.bend.any():
        inverse = 1.0 / (c11 * c22 - c12 * c12)
        q1, q2 = sheet.bend * inverse, sheet.bend * inverse**2
        q3 = 2.0 * q2 * inverse
        w = w + q1
        first = first - q2 * np.stack([c22, c11, -2.0 * c12])
        second = second + np.stack(
            [
                q3 * c22 * c22,
                q3 * c11 * c11,
                2.0 * q2 + 4.0 * q3 * c12 * c12,
                q3 * c11 * c22 - q2,
                -2.0 * q3 * c22 * c12,
                -2.0 * q3 * c11 * c12,
            ]
        )
    slopes = np.stack(
        [
            np.stack([-b11 - b21, -b12 - b22]),
            np.stack([b11, b12]),
            np.stack([b21, b22]),
        ]
    )
    return State(0.5 * det, slopes, np.stack([c11, c22, c12]), w, first, second)


def thinned(sheet: Sheet, state: State) -> Floats:
    """Return (m,) thickness of the formed sheet, mm: t J^-exponent, J the area ratio."""
    j2 = state.c[0] * state.c[1] - state.c[2] ** 2
    h: Floats = sheet.thickness_mm * j2 ** (-0.5 * sheet.law.thinning_exponent)
    return h


def energy(sheet: Sheet, state: State) -> float:
    """Return the elastic energy, N mm."""
    return float(sheet.thickness_mm * np.dot(state.area, state.w))


def gradient(sheet: Sheet, state: State, points: int) -> Floats:
    """Return (points, 2) derivatives of the energy by the flat position, N."""
    weight = sheet.thickness_mm * state.area
    p = _cs(state)
    out = np.zeros((points, 2))
    for i in range(2):
        sigma = [weight * ((state.w if i == j else 0.0) - p[i][j]) for j in range(2)]
        pull = sigma[0] * state.slopes[:, 0] + sigma[1] * state.slopes[:, 1]
        out[:, i] = np.bincount(sheet.triangles.T.ravel(), weights=pull.ravel(), minlength=points)
    return out


def _cs(state: State) -> list[list[Floats]]:
    c11, c22, c12 = state.c
    s11, s22, s12 = state.s
    return [
        [c11 * s11 + c12 * s12, c11 * s12 + c12 * s22],
        [c12 * s11 + c22 * s12, c12 * s12 + c22 * s22],
    ]


def blocks(sheet: Sheet, state: State, positive: bool = False) -> Floats:
    """Return (21, m) upper triangles of the triangles' second derivatives, N/mm.

    Args:
        sheet: Material and form.
        state: At the flat position.
        positive: Raise negative eigenvalues to 0, so that Newton's step goes downhill.
    """
    m = _moduli(state)
    if positive:
        whole = m.transpose(4, 0, 1, 2, 3).reshape(-1, 4, 4)
        values, vectors = np.linalg.eigh(whole)
        whole = np.einsum("nij,nj,nkj->nik", vectors, np.maximum(values, 0.0), vectors)
        m = np.ascontiguousarray(whole.reshape(-1, 2, 2, 2, 2).transpose(1, 2, 3, 4, 0))
    m = m * (sheet.thickness_mm * state.area)
    g = state.slopes
    half = [
        [
            [
                [g[a, 0] * m[i, 0, k, q] + g[a, 1] * m[i, 1, k, q] for q in range(2)]
                for k in range(2)
            ]
            for i in range(2)
        ]
        for a in range(3)
    ]
    out = np.zeros((21, len(state.w)))
    for place, (row, col) in enumerate(UPPER):
        (a, i), (b, k) = divmod(row, 2), divmod(col, 2)
        left = half[a][i][k]
        out[place] = left[0] * g[b, 0] + left[1] * g[b, 1]
    return out


def _moduli(state: State) -> Floats:
    """(2, 2, 2, 2, m): M of the module's text."""
    c11, c22, c12 = state.c
    s11, s22, s12 = state.s
    c, s, p = ((c11, c12), (c12, c22)), ((s11, s12), (s12, s22)), _cs(state)
    w11, w22, w33, w12, w13, w23 = state.second
    # H_mjpl C_im C_pk through the three components of C: dC by L_ij is -(row i of C) in place j
    h = ((4 * w11, 4 * w12, 2 * w13), (4 * w12, 4 * w22, 2 * w23), (2 * w13, 2 * w23, w33))

    def voigt(a: int, b: int) -> int:
        return a if a == b else 2

    m = np.zeros((2, 2, 2, 2, len(state.w)))
    for i in range(2):
        for j in range(2):
            for k in range(2):
                for q in range(2):
                    if (k, q) < (i, j):
                        m[i, j, k, q] = m[k, q, i, j]
                        continue
                    value = c[i][k] * s[q][j]
                    for a in range(2):
                        for b in range(2):
                            value = value + c[i][a] * h[voigt(a, j)][voigt(b, q)] * c[b][k]
                    if i == j and k == q:
                        value = value + state.w
                    if i == q and j == k:
                        value = value - state.w
                    if k == q:
                        value = value - p[i][j]
                    if i == j:
                        value = value - p[k][q]
                    if i == q:
                        value = value + p[k][j]
                    if j == k:
                        value = value + p[i][q]
                    m[i, j, k, q] = value
    return m
