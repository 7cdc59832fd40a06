"""What is believed of the rows that a design is reckoned with, for the ranges of its figures."""

import math
from dataclasses import dataclass, replace

import numpy as np

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.learning.belief import Belief
from hidewright.learning.priors import board_prior, board_values, leather_prior, leather_values
from hidewright.workshop.learned import NOTHING, About, LearnedShelf

#: Rows hold their values to so many digits; those that agree to this share are the same.
SAME = 1e-3

LeatherBeliefs = tuple[tuple[str, Belief], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Beliefs:
    """Of what a design is made and cut with.

    Attributes:
        leathers: By role.
        boards: By name.
    """

    leathers: LeatherBeliefs
    boards: tuple[tuple[str, Belief], ...]


def beliefs_of(
    leathers: tuple[tuple[str, Leather], ...],
    boards: tuple[Board, ...],
    shelf: LearnedShelf = NOTHING,
) -> Beliefs:
    """Return what is believed about the rows of a design as it is reckoned with.

    The middle is always the row's own value. Its doubt is what the readings leave of it; where the
    maker has written another value than catalogue or readings say, it is the catalogue's doubt.

    Args:
        leathers: By role.
        boards: Of plates and templates.
        shelf: What the workshop has learned.
    """
    return Beliefs(
        leathers=tuple((role, leather_belief(one, shelf)) for role, one in leathers),
        boards=tuple((one.name, board_belief(one, shelf)) for one in boards),
    )


def leather_belief(leather: Leather, shelf: LearnedShelf = NOTHING) -> Belief:
    """Return what is believed about a leather as a design has it."""
    about = shelf.of("leather", leather.name)
    if about is None:
        return leather_prior(leather)
    assert isinstance(about.row, Leather)
    stiffness = leather.wet_matrix_MPa / about.row.wet_matrix_MPa
    return _doubted(
        leather_prior(leather), {**leather_values(leather), "stiffness": stiffness}, about
    )


def board_belief(board: Board, shelf: LearnedShelf = NOTHING) -> Belief:
    """Return what is believed about a board as a design has it."""
    about = shelf.of("board", board.name)
    if about is None:
        return board_prior(board)
    return _doubted(board_prior(board), board_values(board), about)


def _doubted(row: Belief, written: dict[str, float], about: About) -> Belief:
    """Return a row's belief with the doubt that the readings leave."""
    own, before, after = about.own, about.result.before.values, about.result.after
    learned = np.array(
        [
            math.isclose(written[one.name], own.get(one.name, before[one.name]), rel_tol=SAME)
            for one in row.quantities
        ]
    )
    spread = np.where(np.outer(learned, learned), after.spread, row.spread)
    return replace(row, spread=spread)
