"""How deep a leather may be pressed over a square plug before one of its limits is used up."""

from dataclasses import dataclass

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank, Hold, PiecePlace
from hidewright.errors import RequestError
from hidewright.forming.limits import pinched, use_of
from hidewright.forming.on_blank import conditions_for, soaked_mm
from hidewright.forming.pressing import Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.remarks import TEARS
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Warm
from hidewright.geometry.shapes import rectangle

#: Depths are told apart to this, mm, and looked at in this range of steps: 2 to 40 mm.
STEP_MM = 0.25
LEAST, MOST = 8, 160
#: The first depth tried, 8 mm, and how much further the next, until one is safe and one is not.
FIRST, FURTHER = 32, 1.5
#: Flange beyond the lip when it is not clamped there, mm; common practice, no source.
FLANGE_MM = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SquareHollow:
    """A hollow with a square plan, pressed into one leather to a depth that is sought.

    Attributes:
        leather: Its middle thickness, soaked, is pressed.
        width_mm: Of the plug.
        corner_radius_mm: Of the plug's plan.
        crown_radius_mm: Of the plug's top edge.
        lip_radius_mm: Of the edge of the opening.
        gap_mm: Between plug and opening.
        hold: How the flange is held; clamped, it is so from the lip's end on.
        size_mm: Side of a triangle.
    """

    leather: Leather
    width_mm: float = 60.0
    corner_radius_mm: float
    crown_radius_mm: float
    lip_radius_mm: float
    gap_mm: float
    hold: Hold = "plate"
    size_mm: float = 2.5

    def __post_init__(self) -> None:
        if self.leather.tannage != "vegetable":
            raise RequestError(
                f"{self.leather.name} is of {self.leather.tannage} tannage",
                because="only vegetable-tanned leather keeps a wet-moulded shape",
            )
        self.at(STEP_MM * FIRST)  # measures that are none, or do not fit the width

    def at(self, depth_mm: float) -> Pressing:
        """Return it pressed so deep."""
        thickness = soaked_mm(self.leather)
        tools = Tools(
            depth_mm=depth_mm,
            crown_radius_mm=self.crown_radius_mm,
            lip_radius_mm=self.lip_radius_mm,
            gap_mm=self.gap_mm,
            thickness_mm=thickness,
        )
        outline = rectangle(self.width_mm, self.width_mm, self.corner_radius_mm)
        return Pressing(
            hollows=(Hollow(name="square", outline=outline, tools=tools),),
            edge=tools.outer_mm + (0.0 if self.hold == "clamped" else FLANGE_MM),
            thickness_mm=thickness,
            hold=self.hold,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeDepth:
    """The largest depth at which no limit is used up.

    Attributes:
        depth_mm: To a quarter of a mm; None when there is none from 2 mm on.
        because: What stands in the way of more, in words; empty at 40 mm, the deepest looked at.
    """

    depth_mm: float | None
    because: str = ""


def safe_depth(hollow: SquareHollow) -> SafeDepth:
    """Return the largest depth at which the leather neither cracks nor tears.

    The share that is used up is taken to rise with the depth. Depths are solved from nothing until
    one is safe and one is not; between them the range is halved by warm solves on one mesh, whose
    rows stay as they are. A depth that is refused, for no balance is found or a radius is too
    small, counts as unsafe.

    Shares depend on the mesh by a hundredth or two, also under a plate, where a mm of depth adds no
    more than that: there the depth is sure to 2 mm, clamped to 0.25 mm (sides of 2.5 and 1.8 mm
    compared).
    """
    safe, unsafe, because = LEAST - 1, MOST + 1, ""
    warm: Warm | None = None
    while unsafe - safe > 1:
        if unsafe > MOST:
            step = min(max(FIRST, round(FURTHER * safe)), MOST)
        elif safe < LEAST:
            step = max(LEAST, int(unsafe / FURTHER))
        else:
            step = (safe + unsafe) // 2
        between = safe >= LEAST and unsafe <= MOST
        against, after = _against(hollow, STEP_MM * step, warm if between else None)
        if against:
            unsafe, because = step, against
        else:
            safe, warm = step, after
    return SafeDepth(depth_mm=STEP_MM * safe if safe >= LEAST else None, because=because)


def _against(hollow: SquareHollow, depth_mm: float, warm: Warm | None) -> tuple[str, Warm | None]:
    """What stands against a depth, in words, or nothing; and where the next solve may begin."""
    blank = Blank(
        name="square",
        places=(PiecePlace(piece="square"),),
        role="body",
        margin_mm=FLANGE_MM,
        hold=hollow.hold,
    )
    conditions = conditions_for(blank, hollow.leather)
    try:
        sheet = pressed(hollow.at(depth_mm), conditions, hollow.size_mm, warm)
    except RequestError as refused:
        return refused.what, None
    use = use_of(sheet, hollow.leather)
    if use.most.max() >= 1.0:
        grain = use.grain.max() >= use.stretch.max()
        return f"the {'grain' if grain else 'leather'} would crack", None
    if pinched(sheet)[0].max() > TEARS:
        return "the wall would be torn", None
    return "", sheet.warm
