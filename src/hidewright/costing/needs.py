"""What one article takes: materials, tools and minutes, as measured on the design."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.prices import BaseUnit, PriceKind
from hidewright.design.step import Step
from hidewright.errors import RequestError

MaterialGroup = Literal["leather", "lining", "consumables", "fittings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What one thing takes of a material.

    Attributes:
        what: The thing in words, such as ``pair of fronts``.
        kind: On which shelf the material's price stands.
        name: The price's name.
        quantity: How much, as measured.
        unit: In what.
        articles: How many articles the thing serves.
    """

    what: str
    kind: PriceKind
    name: str
    quantity: float
    unit: BaseUnit
    articles: int = 1

    def __post_init__(self) -> None:
        if self.quantity < 0:
            raise RequestError(f"{self.what}: {self.quantity:g} {self.unit} of {self.name}")
        if self.articles < 1:
            raise RequestError(f"{self.what}: serves {self.articles} articles")


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A use and where it is listed."""

    group: MaterialGroup
    use: Use


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolSet:
    """Tools that are made once and worn down.

    Attributes:
        name: What they are.
        wears_as: Whether they last pressings, as a mould, or articles, as a template.
        sheets: What of sheets they use up, for all of them.
        minutes: Hands-on to make all of them.
        articles: How many articles one use serves.
        laid: The sheets that must be there to cut them, whole; as ``sheets`` where empty.
    """

    name: str
    wears_as: Literal["mould", "template"]
    sheets: tuple[Use, ...]
    minutes: float
    articles: int = 1
    laid: tuple[Use, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """All that one article takes.

    Attributes:
        materials: Leather as cut, lining, consumables, fittings.
        tools: Made once.
        steps: At the bench, those that make tools left out.
    """

    materials: tuple[Material, ...]
    tools: tuple[ToolSet, ...]
    steps: tuple[Step, ...]
