"""From blanks and pieces to pressed blanks: plugs corrected for drying, flat outlines, limits."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank
from hidewright.design.dart import Dart
from hidewright.design.drying import BlankDrying, even_drying
from hidewright.design.piece import Piece
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.size_change import Change
from hidewright.design.states import (
    REFIT_MM,
    CutOutline,
    FormedOutline,
    SoakedOutline,
    cut_from_soaked,
)
from hidewright.errors import Remark, RequestError
from hidewright.forming.answers import gaping_darts, plate_force_N, press_force_N
from hidewright.forming.on_blank import (
    KNIFE_MM,
    conditions_for,
    dried,
    drying_of,
    flat_blank,
    pressing_of,
    soaked_mm,
    standard_size_mm,
)
from hidewright.forming.pressing import Pressing
from hidewright.forming.remarks import forming_remarks
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed, Warm
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.offset import offset
from hidewright.tooling.blank_outline import formed_blank_edge, soaking
from hidewright.tooling.gap import soaked_thickness_mm
from hidewright.tooling.pressed import pressed_zones
from hidewright.tooling.relief_darts import relief_darts
from hidewright.workshop.gathering import with_remarks
from hidewright.workshop.graph import Node

Leathers = tuple[tuple[str, Leather], ...]

#: The dry hollow may miss what was asked for by this much, mm ...
DRY_FIT_MM = 0.05
#: ... after this many corrections of the plug.
ROUNDS = 4
#: Force on the plugs may be off by these factors: stiffness and friction of the leather at their
#: plausible ends, as reckoned for the demo's articles.
FORCE_ENDS = (0.5, 1.7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of leather as pressed; linings pressed together lie one over the other.

    Attributes:
        role: Which of the design's leathers it is.
        zones: The hollows as this layer lies in them.
        sheet: The solved sheet.
    """

    role: str
    zones: tuple[PressedZone, ...]
    sheet: Pressed


@dataclass(frozen=True, slots=True, kw_only=True)
class PressedBlank:
    """One blank as it is pressed and dries.

    Attributes:
        blank: What is pressed.
        zones: The hollows, plugs corrected so that they dry to the size asked for.
        edge: The leather's edge as it lies pressed, in the blank's frame.
        soaking: How it changes from cut to soaked.
        edge_mm: How far the arcs of its outline soaked, and as pressed and cut, may be from what
            was computed.
        drying: How it changes from formed to dry.
        dry_miss_mm: By how much the dry hollows miss what was asked for.
        layers: The solved sheets, the one on the plug first; none when no sheet takes the form.
    """

    blank: Blank
    zones: tuple[PressedZone, ...]
    edge: FormedOutline
    soaking: Change
    edge_mm: tuple[float, float]
    drying: BlankDrying
    dry_miss_mm: float
    layers: tuple[Layer, ...]

    @property
    def soaked(self) -> SoakedOutline:
        """Its outline as it is laid in, flat; where nothing was solved, as its edge lies pressed.

        Raises:
            RequestError: When it crosses itself.
        """
        if not self.layers:
            return SoakedOutline(self.edge)
        return flat_blank(self.layers[0].sheet, self.edge_mm[0])

    @property
    def cut(self) -> CutOutline:
        """Its outline as it is cut, dry and flat."""
        return cut_from_soaked(self.soaked, self.soaking, self.edge_mm[1])

    @property
    def closing_N(self) -> tuple[float, float] | None:
        """What closes the mould, (low, high): on plugs and plate; None when nothing was solved."""
        if not self.layers:
            return None
        plugs = sum(sum(press_force_N(layer.sheet)) for layer in self.layers)
        plate = max(plate_force_N(layer.sheet) for layer in self.layers)
        return FORCE_ENDS[0] * plugs + plate, FORCE_ENDS[1] * plugs + plate


OnePressed = tuple[PressedBlank, tuple[Remark, ...]]
PressedBlanks = tuple[tuple[PressedBlank, ...], tuple[Remark, ...]]


def press_blank(
    blank: Blank,
    pieces: tuple[Piece, ...],
    leathers: Leathers,
    gap_factor: float,
    warm: Warm | None = None,
    coarseness: float = 1.0,
    drying: BlankDrying | None = None,
    edge_mm: tuple[float, float] = (KNIFE_MM, REFIT_MM),
) -> OnePressed:
    """Return a blank pressed: the plug is corrected until the dry hollow is what was asked for.

    Args:
        blank: What is pressed.
        pieces: At least its own.
        leathers: By role.
        gap_factor: Gap over the thickest soaked leather.
        warm: An earlier solve of the same blank, to begin from.
        coarseness: Triangles this many times as wide as the standard ones.
        drying: How it dries, as far as known, to begin from; evenly without it.
        edge_mm: How far the arcs of its outline soaked, and as pressed and cut, may be from what
            was computed.
    """
    leather = dict(leathers)[blank.role]
    role = next(p.role for p in pieces if p.name == blank.places[0].piece)
    on_plug = dict(leathers)[role]
    gap_mm = gap_factor * soaked_thickness_mm(on_plug)
    backbone = _backbone(blank, pieces)
    drying = drying or even_drying(blank, pieces, leather)
    sheet: Pressed | None = None
    missed = 0.0
    refusals: list[Remark] = []
    for _ in range(ROUNDS):
        zones, remarks = pressed_zones(blank, pieces, leather, drying)
        edge = formed_blank_edge(blank, pieces, zones, drying, edge_mm[1])
        lying = _under_others(zones, blank, pieces, leathers)
        darts = relief_darts(blank, pieces, zones, drying, edge, gap_mm)
        pressing = pressing_of(blank, lying, edge, on_plug, gap_mm, backbone, darts)
        try:
            size_mm = coarseness * standard_size_mm(lying, edge)
            sheet = _without_gaping(pressing, conditions_for(blank, on_plug), size_mm, warm)
            dry = drying_of(blank, pieces, zones, dried(sheet, on_plug, backbone))
        except RequestError as refused:
            sheet = None
            refusals.append(_cannot_be_pressed(zones[0], refused))
            break
        warm = sheet.warm
        missed = _missed(pieces, drying, dry)
        if missed <= DRY_FIT_MM:
            break
        drying = dry
    layers: list[Layer] = []
    if sheet is not None:
        layers.append(Layer(role=role, zones=lying, sheet=sheet))
        try:
            layers += _over(blank, pieces, leathers, gap_factor, layers[0], edge, backbone)
        except RequestError as refused:
            refusals.append(_cannot_be_pressed(zones[0], refused))
    result = PressedBlank(
        blank=blank,
        zones=zones,
        edge=edge,
        soaking=soaking(blank, pieces, leather),
        edge_mm=edge_mm,
        drying=drying,
        dry_miss_mm=missed,
        layers=tuple(layers),
    )
    told = [
        r for la in layers for r in forming_remarks(la.sheet, la.zones, dict(leathers)[la.role])
    ]
    return result, (*remarks, *refusals, *told, *_not_reached(result), *_darts_left_out(result))


def _without_gaping(
    pressing: Pressing, conditions: Conditions, size_mm: float, warm: Warm | None
) -> Pressed:
    """Press a sheet, again without those relief darts that would gape."""
    sheet = pressed(pressing, conditions, size_mm, warm)
    gaping = gaping_darts(sheet)
    if not gaping:
        return sheet
    left = tuple(dart for i, dart in enumerate(pressing.darts) if i not in gaping)
    return _without_gaping(replace(pressing, darts=left), conditions, size_mm, None)


def _cannot_be_pressed(zone: PressedZone, refused: RequestError) -> Remark:
    return Remark(
        code="cannot-be-pressed",
        severity="forbids",
        place=zone.place,
        sentence=f"No sheet of leather takes this form: {refused}",
    )


def _backbone(blank: Blank, pieces: Sequence[Piece]) -> float:
    first = blank.places[0]
    return next(p.stretch_angle for p in pieces if p.name == first.piece) + first.turn


def _missed(pieces: Sequence[Piece], used: BlankDrying, found: BlankDrying) -> float:
    """How far the zones formed for one drying are off when they dry as found, mm."""
    off = 0.0
    by_name = {piece.name: piece for piece in pieces}
    for dries in found.zones:
        zone = by_name[dries.piece].zone(dries.zone)
        before = used.zone(dries.piece, dries.zone)
        formed = before.formed(zone.outline).flat_points()
        away = abs(signed_distances(zone.outline, dries.of_points(formed)))
        deep = abs(zone.depth_mm * (dries.height / before.height - 1.0))
        off = max(off, float(away.max()), deep)
    return off


def _under_others(
    zones: Sequence[PressedZone], blank: Blank, pieces: Sequence[Piece], leathers: Leathers
) -> tuple[PressedZone, ...]:
    """Return hollows as the layer on the plug takes them: what lies over it widens lip and tops."""
    roles = [next(p.role for p in pieces if p.name == name) for name in blank.over]
    over_mm = sum(soaked_mm(dict(leathers)[role]) for role in roles)
    return tuple(
        replace(
            zone,
            lip_radius_mm=zone.lip_radius_mm + over_mm,
            islands=tuple(
                replace(one, top_radius_mm=one.top_radius_mm + over_mm) for one in zone.islands
            ),
        )
        for zone in zones
    )


def _over(
    blank: Blank,
    pieces: Sequence[Piece],
    leathers: Leathers,
    gap_factor: float,
    below: Layer,
    edge: FormedOutline,
    backbone: float,
) -> list[Layer]:
    """Press the layers that lie over the first one, each over the one below it."""
    found: list[Layer] = []
    by_name = {piece.name: piece for piece in pieces}
    for name in blank.over:
        piece = by_name[name]
        role = piece.role
        leather = dict(leathers)[role]
        t = soaked_mm(dict(leathers)[below.role])
        zones = tuple(
            replace(
                zone,
                sources=tuple((name, own) for _, own in zone.sources),
                plug=FormedOutline(offset(zone.plug, t)),
                crown_radius_mm=zone.crown_radius_mm + t,
                lip_radius_mm=zone.lip_radius_mm - soaked_mm(leather),
                islands=tuple(
                    replace(
                        one,
                        pocket=FormedOutline(offset(one.pocket, -t)),
                        foot_radius_mm=one.foot_radius_mm + t,
                        top_radius_mm=one.top_radius_mm - soaked_mm(leather),
                    )
                    for one in zone.islands
                ),
                grain_out=piece.zone(zone.sources[0][1]).grain_out,
            )
            for zone in below.zones
        )
        gap_mm = gap_factor * soaked_thickness_mm(leather)
        darts = _darts_of(below)
        pressing = pressing_of(blank, zones, edge, leather, gap_mm, backbone, darts)
        size_mm = standard_size_mm(zones, edge)
        sheet = pressed(pressing, conditions_for(blank, leather), size_mm)
        below = Layer(role=role, zones=zones, sheet=sheet)
        found.append(below)
    return found


def _not_reached(result: PressedBlank) -> tuple[Remark, ...]:
    if result.dry_miss_mm <= DRY_FIT_MM:
        return ()
    return (
        Remark(
            code="drying-not-reached",
            severity="warning",
            place=result.zones[0].place,
            amount=result.dry_miss_mm,
            limit=DRY_FIT_MM,
            sentence=(
                f"The hollow would dry {result.dry_miss_mm:.2f} mm off what is asked for, "
                f"{DRY_FIT_MM:.2f} mm is wanted: prove it on a test piece"
            ),
        ),
    )


def _darts_left_out(result: PressedBlank) -> tuple[Remark, ...]:
    if result.blank.relief_dart_mm == 0 or any(_darts_of(layer) for layer in result.layers):
        return ()
    return (
        Remark(
            code="darts-left-out",
            severity="warning",
            place=result.zones[0].place,
            sentence=(
                f"Relief darts of {result.blank.relief_dart_mm:g} mm are left out: nowhere would "
                "they close, for the margin is not gathered where they begin"
            ),
        ),
    )


def _darts_of(layer: Layer) -> tuple[Dart, ...]:
    form = layer.sheet.pressing
    return form.darts if isinstance(form, Pressing) else ()


NODES = (
    Node(
        name="pressed blanks",
        needs=("blanks", "moulded", "all leathers", "gap factor"),
        compute=press_blank,
        gather=with_remarks,
        seconds=0.5,
    ),
)
