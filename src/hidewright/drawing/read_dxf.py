"""Outlines out of a DXF drawing."""

import io
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

import ezdxf
from ezdxf.document import Drawing as DxfDocument
from ezdxf.entities import DXFEntity, DXFGraphic, Insert
from ezdxf.filemanagement import dxf_stream_info
from ezdxf.lldxf.const import DXFError

from hidewright.drawing.chaining import Piece, chain_pieces
from hidewright.drawing.dxf_curves import OffPlaneError, entity_run, insert_maps
from hidewright.drawing.plane_curves import Affine, segments_of
from hidewright.drawing.reading import (
    CLOSE_GAPS_MM,
    Reading,
    Skipped,
    UnitUsed,
    accepted_units,
    check_request,
    grouped,
    unit_mm,
)
from hidewright.errors import RequestError

T = TypeVar("T")

#: Entities that are read, those of blocks once for each time they are inserted.
MAX_ENTITIES = 100_000
#: $INSUNITS of the DXF reference that are accepted, with the unit.
INSUNITS = ((1, "in"), (4, "mm"), (5, "cm"), (6, "m"))
#: What the DXF library raises when numbers or whole tags of a file are damaged.
DAMAGED = (DXFError, ValueError, LookupError, TypeError, AttributeError, ArithmeticError)
_BINARY = b"AutoCAD Binary DXF"
_WHY_NOT = {
    "TEXT": "words are not outlines",
    "MTEXT": "words are not outlines",
    "ATTRIB": "words are not outlines",
    "ATTDEF": "words are not outlines",
    "DIMENSION": "dimensions are not outlines",
    "LEADER": "dimensions are not outlines",
    "HATCH": "fillings are not outlines",
    "POINT": "a point has no length",
    "IMAGE": "pictures have no outline",
    "POLYLINE": "meshes are not flat outlines",
}


def read_dxf(
    data: bytes, *, name: str, unit: str | None = None, close_gaps_mm: float = CLOSE_GAPS_MM
) -> Reading:
    """Return the outlines of a DXF drawing in mm.

    Read are LINE, ARC, CIRCLE, LWPOLYLINE, POLYLINE, ELLIPSE and SPLINE of the model space that lie
    in the plane z = 0, and blocks, however they are scaled, turned or mirrored. Arcs stay true;
    ellipses and splines become tangent arcs within 0.01 mm. All else is listed as skipped.

    Args:
        data: The file, as text DXF.
        name: Its name, for errors.
        unit: mm, cm, m or in: the length of one drawing unit, over what the file says.
        close_gaps_mm: Ends within this are joined, and each gap reported, mm.

    Raises:
        RequestError: When the file is no DXF, does not say its unit, or an outline cannot be used.
    """
    check_request(data, name, close_gaps_mm)
    document = _loaded(data, name)
    used = _unit(document, unit, name)
    walk = _Walk(document, name)
    space = document.modelspace()
    try:
        walk.entities(space, _Setting(place=Affine(used.mm, 0.0, 0.0, used.mm, 0.0, 0.0)))
    except RequestError as error:
        raise error.at(name) from None
    on_paper = sum(len(layout) for layout in document.layouts if layout.name != space.name)
    if on_paper:
        walk.leave_out("paper layout", f"{on_paper} entities", "only the model space is read")
    chained = chain_pieces(walk.pieces, close_gaps_mm, name)
    return Reading(
        name=name,
        outlines=chained.outlines,
        paths=chained.paths,
        closed_gaps=chained.closed_gaps,
        skipped=(*walk.skipped(), *chained.skipped),
        unit=used,
    )


def _loaded(data: bytes, name: str) -> DxfDocument:
    if data.startswith(_BINARY):
        raise RequestError(
            "a binary DXF", mend="Save it as text DXF (often called ASCII DXF)", where=name
        )
    lines = data[-200:].split()
    if lines[-1:] != [b"EOF"]:
        raise RequestError(
            "the DXF is not complete",
            because="it does not end with EOF",
            mend="Save or copy the drawing again",
            where=name,
        )
    try:
        info = dxf_stream_info(io.StringIO(data.decode("utf-8", errors="ignore")))
        text = io.TextIOWrapper(io.BytesIO(data), encoding=info.encoding, errors="replace")
        return ezdxf.read(text)
    except (*DAMAGED, OSError) as error:
        because = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise RequestError(
            "it cannot be read as DXF",
            because=because,
            mend="Save the drawing again, as DXF R2010 if there is a choice",
            where=name,
        ) from None


def _unit(document: DxfDocument, unit: str | None, name: str) -> UnitUsed:
    if unit is not None:
        return UnitUsed(mm=unit_mm(unit, name), source=f"--unit {unit.strip().lower()}")
    code = document.header.get("$INSUNITS", 0)
    for known, word in INSUNITS:
        if code == known:
            return UnitUsed(mm=unit_mm(word, name), source=f"$INSUNITS {known} ({word})")
    raise RequestError(
        "the drawing does not say its unit" if not code else f"$INSUNITS {code}",
        because="$INSUNITS is missing or 0" if not code else "that unit is not known here",
        mend=f"Say the unit of the drawing: {accepted_units()}",
        where=name,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Setting:
    """What an entity takes over from the blocks around it."""

    place: Affine
    layer: str = "0"
    blocks: tuple[str, ...] = ()


class _Walk:
    """Goes through entities and blocks in order, and keeps what is drawn and what is not read."""

    def __init__(self, document: DxfDocument, file: str) -> None:
        self.pieces: list[Piece] = []
        self._document, self._file = document, file
        self._left_out: dict[tuple[str, str], list[str]] = defaultdict(list)
        self._count = 0

    def entities(self, entities: Iterable[DXFEntity], setting: _Setting) -> None:
        for entity in entities:
            self._count += 1
            if self._count > MAX_ENTITIES:
                raise RequestError(
                    f"over {MAX_ENTITIES} entities",
                    because="blocks are counted each time they are inserted",
                    mend="Save only the outlines into a file of their own",
                )
            label = f"{entity.dxftype()} {entity.dxf.get('handle') or ''}".strip()
            if setting.blocks:
                label += f" of block {setting.blocks[-1]!r}"
            try:
                self._entity(entity, label, setting)
            except OffPlaneError:
                self.leave_out(entity.dxftype(), label, "it does not lie flat in the plane z = 0")
            except RequestError as error:
                raise error.at(f"{self._file}, {label}") from None

    def skipped(self) -> tuple[Skipped, ...]:
        return grouped(self._left_out)

    def leave_out(self, what: str, label: str, why: str) -> None:
        self._left_out[what, why].append(label)

    def _entity(self, entity: DXFEntity, label: str, setting: _Setting) -> None:
        kind = entity.dxftype()
        if not isinstance(entity, DXFGraphic):
            self.leave_out(kind, label, "this kind of entity is not read")
            return
        layer = str(entity.dxf.get("layer", "0"))
        if layer == "0" and setting.blocks:
            layer = setting.layer  # layer 0 of a block is the layer it is inserted on
        hidden = self._hidden(entity, layer, block=isinstance(entity, Insert))
        if hidden:
            self.leave_out(kind, label, hidden)
        elif isinstance(entity, Insert):
            self._insert(entity, label, layer, setting)
        else:
            self._curves(entity, label, layer, setting)

    def _curves(self, entity: DXFGraphic, label: str, layer: str, setting: _Setting) -> None:
        kind = entity.dxftype()
        run = _undamaged(lambda: entity_run(entity))
        if run is None:
            why = _WHY_NOT.get(kind, "this kind of entity is not read")
            self.leave_out(kind, label, why)
            return
        self.pieces.append(
            Piece(
                name=f"{kind.lower()} {entity.dxf.get('handle') or len(self.pieces) + 1}",
                layer=layer,
                where=label,
                segments=segments_of(run.curves, setting.place),
                closed=run.closed,
            )
        )

    def _insert(self, insert: Insert, label: str, layer: str, setting: _Setting) -> None:
        name = str(insert.dxf.name)
        if name in setting.blocks:
            raise RequestError(f"block {name!r} holds itself", mend="Explode it before saving")
        block = self._document.blocks.get(name)
        if block is None:
            self.leave_out("INSERT", label, f"its block {name!r} is not in the file")
            return
        if insert.attribs:
            self.leave_out("ATTRIB", label, _WHY_NOT["ATTRIB"])
        for into in _undamaged(lambda: insert_maps(insert)):
            inside = _Setting(
                place=setting.place.after(into), layer=layer, blocks=(*setting.blocks, name)
            )
            self.entities(block, inside)

    def _hidden(self, entity: DXFGraphic, layer: str, *, block: bool) -> str:
        """Why an entity is not shown, empty if it is.

        A block on a layer that is off still shows what it holds on other layers; on a frozen one
        it does not (DXF reference, LAYER).
        """
        if entity.dxf.get("invisible", 0):
            return "it is not shown (invisible)"
        if layer in self._document.layers:
            entry = self._document.layers.get(layer)
            if entry.is_frozen():
                return f"its layer {layer!r} is frozen"
            if entry.is_off() and not block:
                return f"its layer {layer!r} is off"
        return ""


def _undamaged(take: Callable[[], T]) -> T:
    """What is taken out of an entity; a damaged one is the maker's to mend."""
    try:
        return take()
    except RequestError:
        raise
    except DAMAGED as error:
        raise RequestError(
            "the entity is damaged", because=str(error), mend="Draw it again"
        ) from None
