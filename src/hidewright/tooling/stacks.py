"""How boards and shims make up a height."""

import math
from dataclasses import dataclass, replace

from hidewright.catalogue.boards import Board

#: A height is met by boards alone when it misses by less than this, mm: no shim is that thin.
LEAST_SHIM_MM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of a stack.

    Attributes:
        board: What it is cut from.
        bottom_mm: Height of its lower face.
        is_shim: Whether it makes up what the boards leave.
    """

    board: Board
    bottom_mm: float
    is_shim: bool = False

    @property
    def top_mm(self) -> float:
        """Height of its upper face."""
        return self.bottom_mm + self.board.thickness_mm


def exact_stack(board: Board, bottom_mm: float, height_mm: float) -> tuple[Layer, ...]:
    """Return layers, lowest first, that make up a height: one shim below whole boards.

    The stack is as high as asked for, or by less than 0.05 mm off where that saves the shim. A
    height under one board is a shim alone.
    """
    boards = math.floor(height_mm / board.thickness_mm + 1e-9)
    rest = height_mm - boards * board.thickness_mm
    if board.thickness_mm - rest < LEAST_SHIM_MM:
        boards, rest = boards + 1, 0.0
    if rest < LEAST_SHIM_MM and boards:
        rest = 0.0
    layers: list[Layer] = []
    at = bottom_mm
    if rest:
        layers.append(Layer(board=packing(board, rest), bottom_mm=at, is_shim=True))
        at += rest
    for _ in range(boards):
        layers.append(Layer(board=board, bottom_mm=at))
        at += board.thickness_mm
    return tuple(layers)


def whole_boards(board: Board, bottom_mm: float, height_mm: float) -> tuple[Layer, ...]:
    """Return the fewest whole boards, at least one, that reach a height."""
    n = max(1, math.ceil(height_mm / board.thickness_mm - 1e-9))
    return tuple(Layer(board=board, bottom_mm=bottom_mm + i * board.thickness_mm) for i in range(n))


def packing(board: Board, thickness_mm: float) -> Board:
    """Return what a shim is cut from: card and thin sheet glued up to a thickness."""
    return replace(
        board,
        name=f"card built up to {thickness_mm:.2f} mm",
        material="card",
        thickness_mm=thickness_mm,
        thickness_tolerance_mm=min(0.05, thickness_mm / 4),
        min_feature_mm=min(board.min_feature_mm, 2.0),
        min_web_mm=min(board.min_web_mm, 2.0),
        transparent=False,
        source="glued up by the maker and measured",
    )


def shim_on_top(layers: tuple[Layer, ...]) -> tuple[Layer, ...]:
    """Return the same stack with its shim above the boards."""
    at = layers[0].bottom_mm
    turned: list[Layer] = []
    for layer in (*(x for x in layers if not x.is_shim), *(x for x in layers if x.is_shim)):
        turned.append(replace(layer, bottom_mm=at))
        at += layer.board.thickness_mm
    return tuple(turned)
