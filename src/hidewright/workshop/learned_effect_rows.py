"""A design's figures by the catalogue and by the workshop's own values, as they are shown."""

from dataclasses import dataclass

from hidewright.design.interval import Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class DrySize:
    """What a hollow dries to when its plug is cut by the catalogue.

    Attributes:
        place: ``piece/zone``.
        direction: ``along`` or ``across`` the backbone.
        plug_mm: The plug that the catalogue's values lead to.
        before: What the next piece dries to, as was known before any reading.
        now: The same as it is known now.
    """

    place: str
    direction: str
    plug_mm: float
    before: Interval
    now: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A figure by the catalogue and by the workshop's own values, in words."""

    words: str
    catalogue: str
    own: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What the readings did to a design.

    Attributes:
        design: Its name.
        sizes: Of its hollows.
        moved: Other figures.
    """

    design: str
    sizes: tuple[DrySize, ...]
    moved: tuple[Moved, ...]
