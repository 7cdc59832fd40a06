"""Steps that were worked out once, so that no leather need be pressed again to plan them."""

from dataclasses import dataclass

from hidewright.design.step import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownSteps:
    """The steps of a design in one colour, before the maker's own changes.

    Attributes:
        steps: Of one of a batch.
        first_off: Of the first one, with its tools.
    """

    steps: tuple[Step, ...]
    first_off: tuple[Step, ...]
