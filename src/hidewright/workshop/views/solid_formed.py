"""Formed leather as a sheet: on its blank as pressed, and piece by piece as it dries."""

import math

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import PiecePlace
from hidewright.design.drying import BlankDrying
from hidewright.design.piece import Piece
from hidewright.forming.answers import stretch_in_triangles
from hidewright.forming.mesh import CAP, CROWN
from hidewright.forming.pressing import Pressing
from hidewright.forming.solved import Pressed
from hidewright.geometry.segment import Bools, Floats
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_line import shares_used
from hidewright.workshop.views.solid_sheet import Sheet, only, sheet_of


def formed_sheet(layer: Layer, leather: Leather) -> Sheet:
    """Return a layer as pressed, wet, in its blank's frame, z = 0 on the base it is pressed over.

    Hollows that are pressed towards the flesh side rise all the same: the blank lies grain down.

    Args:
        layer: The solved layer.
        leather: The layer's.
    """
    sheet = layer.sheet
    half = 0.5 * _at_points(layer, sheet.thickness)
    up = np.array([0.0, 0.0, 0.5 * sheet.pressing.thickness_mm])
    return sheet_of(
        sheet.shape.points + up,
        sheet.shape.normals * half[:, None],
        _scalars(layer, leather),
        sheet.layout.triangles,
    )


def piece_sheet(one: PressedBlank, piece: Piece, leather: Leather) -> Sheet | None:
    """Return the dry, untrimmed leather a moulded piece is cut from, in the piece's frame.

    The zones change by their own drying, the flange by its own, the lip by a mix of both. The
    sheet's thickness goes back from soaked to dry in one measure everywhere.

    Args:
        one: A pressed blank.
        piece: Of any blank.
        leather: The piece's.

    Returns:
        None when the piece is not on this blank, or its layer was not solved.
    """
    found = _layer_of(one, piece)
    if found is None:
        return None
    layer, place = found
    layout, at = layer.sheet.layout, layer.sheet.shape
    soaked = layer.sheet.pressing.thickness_mm
    thickness = _at_points(layer, layer.sheet.thickness)
    dry_half = 0.5 * leather.thickness_mm / soaked * thickness
    c, s = math.cos(place.turn), math.sin(place.turn)
    back = np.array([[c, -s], [s, c]])  # row vectors, turned back
    normal = np.column_stack([at.normals[:, :2] @ back, at.normals[:, 2]])
    near_plug = (at.points[:, :2] - np.array(place.shift)) @ back
    near_plug = np.column_stack([near_plug, at.points[:, 2] + 0.5 * soaked])
    near_plug -= 0.5 * thickness[:, None] * normal
    dry, side = _dried(one.drying, layer, place.piece, piece, near_plug)
    within = _near_piece(piece, dry[layout.triangles])
    # on the convex side lies the grain, or the flesh where a zone is pressed the other way
    middle = dry + dry_half[:, None] * normal
    middle[:, 2] = np.where(side > 0.0, middle[:, 2], leather.thickness_mm - middle[:, 2])
    across = normal * np.column_stack([side, side, np.ones(len(side))])
    sheet = sheet_of(middle, across * dry_half[:, None], _scalars(layer, leather), layout.triangles)
    return only(sheet, within)


def _layer_of(one: PressedBlank, piece: Piece) -> tuple[Layer, PiecePlace] | None:
    """The layer a piece is cut from, and where it lies; layers over one another lie alike."""
    placed = {place.piece: (0, place) for place in reversed(one.blank.places)}
    placed |= {name: (k, one.blank.places[0]) for k, name in enumerate(one.blank.over, 1)}
    number, place = placed.get(piece.name, (len(one.layers), one.blank.places[0]))
    return (one.layers[number], place) if number < len(one.layers) else None


def _near_piece(piece: Piece, corners: Floats) -> Bools:
    """Whether triangles (m, 3, 3) reach into the piece's bounds in plan."""
    left, bottom, right, top = piece.outline.bounds
    low, high = corners[:, :, :2].min(axis=1), corners[:, :, :2].max(axis=1)
    return np.asarray(((high >= (left, bottom)) & (low <= (right, top))).all(axis=1))


def _dried(
    drying: BlankDrying, layer: Layer, dries: str, piece: Piece, formed: Floats
) -> tuple[Floats, Floats]:
    """Return where the face that lay on plug and base is when dry, and which way it rises.

    Args:
        drying: Of the blank.
        layer: The piece's.
        dries: The piece whose drying this one shares.
        piece: The piece.
        formed: (n, 3) places of that face, formed, in the piece's frame; the base is at z = 0.

    Returns:
        (n, 3) places, the flange's at z = 0, and (n,) 1 where hollows rise to the grain side, -1
        where to the flesh side.
    """
    plan = drying.flange(dries).of_points(formed[:, :2])
    height, side = np.zeros(len(formed)), np.ones(len(formed))
    layout = layer.sheet.layout
    flange = formed[layout.edge, 2].mean()
    for k, zone in enumerate(layer.zones):
        own = next((name for of, name in zone.sources if of == piece.name), None)
        if own is None:
            continue
        change = drying.zone(dries, own)
        share = np.zeros(len(formed))
        cap = (layout.hollow == k) & np.isin(layout.region, (CAP, CROWN))
        share[layout.triangles[cap]] = 1.0
        band = layout.bands[k]
        lip = np.linspace(1.0, 0.0, band.rows.lip + 1)
        share[band.grid] = np.concatenate([np.ones(band.rows.stations - len(lip)), lip])
        share[layout.triangles[_on_islands(layer.sheet, k)]] = 1.0
        inside = share > 0.0
        part = share[inside, None]
        plan[inside] += part * (change.of_points(formed[inside, :2]) - plan[inside])
        z = formed[inside, 2]
        height[inside] = change.height * (z - (1.0 - part[:, 0]) * flange)
        side[inside] = 1.0 if piece.zone(own).grain_out else -1.0
    return np.column_stack([plan, height]), side


def _on_islands(sheet: Pressed, hollow: int) -> Bools:
    """(m,) the triangles of the islands in a hollow."""
    assert isinstance(sheet.pressing, Pressing)
    family = [i for i, top in enumerate(sheet.pressing.outermost) if top == hollow and i != hollow]
    return np.isin(sheet.layout.hollow, family)


def _scalars(layer: Layer, leather: Leather) -> Floats:
    """(n, 3) scalars at points: the mean of stretch and thickness round it, the worst of the use.

    Where the sheet is only gathered, it is not stretched.
    """
    stretch = np.maximum(stretch_in_triangles(layer.sheet).largest - 1.0, 0.0)
    used = np.zeros(len(layer.sheet.flat))
    triangles = layer.sheet.layout.triangles
    np.maximum.at(used, triangles.ravel(), np.repeat(shares_used(layer, leather), 3))
    return np.column_stack(
        [
            100.0 * _at_points(layer, stretch),
            _at_points(layer, layer.sheet.thickness),
            100.0 * used,
        ]
    )


def _at_points(layer: Layer, values: Floats) -> Floats:
    """(n,) mean of what is known in triangles (m,) over those round each point, by their size."""
    triangles, n = layer.sheet.layout.triangles.ravel(), len(layer.sheet.flat)
    weight = np.repeat(layer.sheet.state.area, 3)
    total = np.bincount(triangles, weights=weight * np.repeat(values, 3), minlength=n)
    return np.asarray(total / np.bincount(triangles, weights=weight, minlength=n))
