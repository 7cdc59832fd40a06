"""What a closing magnet does: how hard it holds, what it harms and how far off, what it seats in.

Forces and fields are those of ideal discs with one remanence throughout; a block counts as a disc
of the same pole area where only a disc has a formula. Real magnets reach 0.5 to 0.8 of the ideal
force. Fields are on the axis; the edge of a pole can be stronger.
"""

import math
from dataclasses import replace

from hidewright.catalogue.magnets import Magnet
from hidewright.catalogue.things import Sensitive
from hidewright.design.carried import Carried
from hidewright.errors import Remark, RequestError

#: Magnetic constant, N/A2.
MU_0 = 4e-7 * math.pi
#: Real pull over ideal pull: 0.49 for one published ring, 0.8 for a catalogue disc.
REAL_OVER_IDEAL = (0.5, 0.8)
#: The gaussmeter's sensor sits 0.015 in over the pole (from memory of ASTM F963, 8.25).
FLUX_INDEX_AT_MM = 0.381
#: A loose magnet that can be swallowed counts as hazardous from here, kG2 mm2 (16 CFR 1262).
HAZARDOUS_FLUX_INDEX = 50.0
#: The cylinder of 16 CFR 1501.4: width, and depth at its deep side; its floor slopes at 45 degrees.
CYLINDER_WIDTH_MM, CYLINDER_DEPTH_MM = 31.75, 57.15
#: Field that may disturb an implanted device: 5 gauss, from memory.
IMPLANT_T = 0.5e-3
#: Field that begins to harm each thing, T, all from memory. Compass: turns the needle by 1 degree
#: where the earth's field along the ground is 20 microtesla. Card: a stripe of low coercivity.
#: Watch: 4800 A/m. Hearing aid: as for implants.
HARMS_FROM_T: tuple[tuple[Sensitive, float], ...] = (
    ("compass", 20e-6 * math.tan(math.radians(1.0))),
    ("striped card", 30e-3),
    ("mechanical watch", 4800 * MU_0),
    ("hearing aid", IMPLANT_T),
)
#: Nearer than this magnets touch: the integral's kink there is sharper than it can be summed, mm.
CONTACT_MM = 1e-6


def pull_between(one: Magnet, other: Magnet, gap_mm: float) -> float:
    """Return the ideal pull of two magnets face to face on one axis, N.

    F = Br1 Br2 / mu0 pi R1 R2 [K(g) - K(g + L1) - K(g + L2) + K(g + L1 + L2)], which for two
    alike discs is the usual (Br^2/mu0) A [I(g) + I(g + 2L) - 2 I(g + L)]: the charged faces of
    both discs, in pairs (see ``_face_coupling``).

    Args:
        one: A magnet; a block counts as a disc of its pole area.
        other: The magnet it meets.
        gap_mm: Leather and air between the poles, 0 or more.
    """
    _must_not_be_negative("gap between magnets", gap_mm)
    if gap_mm < CONTACT_MM:
        gap_mm = 0.0
    r1, r2 = _radius(one), _radius(other)
    l1, l2 = one.thickness_mm, other.thickness_mm
    bracket = (
        _face_coupling(r1, r2, gap_mm)
        - _face_coupling(r1, r2, gap_mm + l1)
        - _face_coupling(r1, r2, gap_mm + l2)
        + _face_coupling(r1, r2, gap_mm + l1 + l2)
    )
    per_mm2 = one.remanence_T * other.remanence_T / MU_0 * 1e-6
    return per_mm2 * math.pi * r1 * r2 * bracket


def pull_to_steel(magnet: Magnet, gap_mm: float) -> float:
    """Return the ideal pull to a thick steel face, N: to its own mirror image at twice the gap."""
    return pull_between(magnet, magnet, 2.0 * gap_mm)


def real_pull(ideal_N: float) -> tuple[float, float]:
    """Return the (least, most) pull to expect of real magnets, N."""
    return (ideal_N * REAL_OVER_IDEAL[0], ideal_N * REAL_OVER_IDEAL[1])


def needed_pull(mass_g: float, shake: float = 3.0) -> float:
    """Return the pull that keeps a mass from opening the closure, N.

    Args:
        mass_g: What hangs on the closure.
        shake: How many times its weight it pulls when shaken; 3 is common practice, no source.
    """
    return mass_g / 1000.0 * 9.81 * shake


def weak_pair(
    place: str, pair: tuple[Magnet, Magnet], apart_mm: float, carried: tuple[Carried, ...]
) -> tuple[Remark, ...]:
    """Return a warning when a closing pair does not hold what is carried when it is shaken.

    Args:
        place: Name of one of them.
        pair: The two.
        apart_mm: Leather and air between them.
        carried: What pulls on it.
    """
    mass = math.fsum(c.count * c.thing.mass_g for c in carried)
    pull, wanted = real_pull(pull_between(*pair, apart_mm))[0], needed_pull(mass)
    if pull >= wanted:
        return ()
    return (
        Remark(
            code="magnets-too-weak",
            severity="warning",
            place=place,
            amount=pull,
            limit=wanted,
            sentence=(
                f"Through {apart_mm:.1f} mm of leather and air the pair holds about {pull:.1f} N; "
                f"what is carried pulls with up to {wanted:.1f} N when shaken. Take thicker "
                "or wider magnets"
            ),
        ),
    )


def field_on_axis(magnet: Magnet, distance_mm: float) -> float:
    """Return the flux density on the axis at a distance from the pole face, T.

    Disc (Br/2)[(L+z)/sqrt(R^2+(L+z)^2) - z/sqrt(R^2+z^2)]; block (Br/pi)[A(z) - A(L+z)] with
    A(z) = atan(a b / (2 z sqrt(4 z^2 + a^2 + b^2))) (suppliers' formulas for a uniform magnet).
    """
    _must_not_be_negative("distance from the magnet", distance_mm)
    z, far = distance_mm, distance_mm + magnet.thickness_mm
    if magnet.shape == "disc":
        r = magnet.diameter_mm / 2
        return magnet.remanence_T / 2 * (far / math.hypot(r, far) - z / math.hypot(r, z))
    a, b = magnet.length_mm, magnet.width_mm

    def solid_angle(at: float) -> float:
        return math.atan2(a * b, 2 * at * math.sqrt(4 * at * at + a * a + b * b))

    return magnet.remanence_T / math.pi * (solid_angle(z) - solid_angle(far))


def reach(magnet: Magnet, field_T: float) -> float:
    """Return how far from the pole face, on the axis, the field has fallen to a value, mm.

    0 when it is nowhere that strong.
    """
    if field_T <= 0:
        raise RequestError(f"a field of {field_T:g} T is reached nowhere")
    if field_on_axis(magnet, 0.0) <= field_T:
        return 0.0
    beyond = 1.0
    while field_on_axis(magnet, beyond) > field_T:
        beyond *= 2.0
    from scipy.optimize import brentq

    return float(brentq(lambda z: field_on_axis(magnet, z) - field_T, 0.0, beyond, xtol=1e-9))


def safe_distance(magnet: Magnet, thing: Sensitive) -> float:
    """Return how far a thing must stay from a closed pair of these magnets, mm.

    The pair counts as one magnet of twice the thickness: the leather between is left out, which
    puts the distance on the safe side.
    """
    pair = replace(magnet, thickness_mm=2.0 * magnet.thickness_mm)
    return reach(pair, dict(HARMS_FROM_T)[thing])


def flux_index(magnet: Magnet) -> float:
    """Return the flux index of the rule on swallowed magnets, kG2 mm2.

    Square of the flux density 0.381 mm over the pole times the pole's area. It is taken on the
    axis; the highest reading, at the edge, can be higher: use it for a caution, not a verdict.
    """
    kilogauss = field_on_axis(magnet, FLUX_INDEX_AT_MM) * 10.0
    return kilogauss**2 * magnet.pole_area_mm2


def fits_small_parts_cylinder(magnet: Magnet) -> bool:
    """Whether it goes wholly into the small-parts cylinder of 16 CFR 1501.4.

    The cylinder is 1.25 in wide and 1 to 2.25 in deep; the slope of its floor is from memory. The
    magnet is tried upright in each position, at the deep side.
    """
    if magnet.shape == "disc":
        d, t = magnet.diameter_mm, magnet.thickness_mm
        flat = d <= CYLINDER_WIDTH_MM and d + t <= CYLINDER_DEPTH_MM
        return flat or _box_fits_cylinder(t, d, d)
    a, b, c = magnet.length_mm, magnet.width_mm, magnet.thickness_mm
    ways = ((a, b, c), (b, a, c), (a, c, b), (c, a, b), (b, c, a), (c, b, a))
    return any(_box_fits_cylinder(*way) for way in ways)


def is_hazardous_if_swallowed(magnet: Magnet) -> bool:
    """Whether, loose, it is small enough to swallow and strong enough to harm (16 CFR 1262)."""
    return fits_small_parts_cylinder(magnet) and flux_index(magnet) >= HAZARDOUS_FLUX_INDEX


def seat_hollow(size_mm: float, clearance_mm: float) -> float:
    """Return the inside of a seat moulded for a magnet, mm, across one direction of it.

    Args:
        size_mm: Diameter of a disc, or a side of a block.
        clearance_mm: Looseness on each side.
    """
    return size_mm + 2.0 * clearance_mm


def seat_cavity(size_mm: float, clearance_mm: float, gap_mm: float) -> float:
    """Return the hole in the cavity plate that forms such a seat, mm, across one direction.

    Args:
        size_mm: Diameter of a disc, or a side of a block.
        clearance_mm: Looseness on each side.
        gap_mm: Space for the leather on each side, all layers together.
    """
    return seat_hollow(size_mm, clearance_mm) + 2.0 * gap_mm


def _face_coupling(r1: float, r2: float, d: float) -> float:
    """Return K(d) = integral of J1(k r1) J1(k r2) / k exp(-k d) over k from 0 to infinity.

    Graf's addition theorem turns J1 J1 into an average of J0 over an angle t; the integral over
    k is then known (up to a constant that the average takes away), which leaves
    K = -1/pi integral of cos t log(d + sqrt(d^2 + r1^2 + r2^2 - 2 r1 r2 cos t)) over 0..pi.
    For r1 = r2 and d = 0 it is 1/2.
    """

    def integrand(t: float) -> float:
        apart = (r1 - r2) ** 2 + 4 * r1 * r2 * math.sin(t / 2) ** 2
        return math.cos(t) * math.log((d + math.sqrt(d * d + apart)) / (r1 + r2))

    from scipy.integrate import quad  # takes longer to load than all of design

    value, _ = quad(integrand, 0.0, math.pi, epsabs=1e-12, epsrel=1e-12, limit=200)
    return -float(value) / math.pi


def _radius(magnet: Magnet) -> float:
    return math.sqrt(magnet.pole_area_mm2 / math.pi)


def _box_fits_cylinder(along_slope: float, across: float, high: float) -> bool:
    half = CYLINDER_WIDTH_MM / 2
    if math.hypot(along_slope, across) > CYLINDER_WIDTH_MM:
        return False
    from_wall = half - math.sqrt(half**2 - (across / 2) ** 2)
    return from_wall + along_slope + high <= CYLINDER_DEPTH_MM


def _must_not_be_negative(what: str, mm: float) -> None:
    if not mm >= 0:
        raise RequestError(f"a {what} of {mm:g} mm", because="it must be 0 or more")
