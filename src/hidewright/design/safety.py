"""Magnets and steel beside things they spoil, points without a sheath, leather not to be wetted."""

import math

from hidewright.catalogue.leathers import Leather
from hidewright.design.carried import Carried
from hidewright.design.fitting import FittingPlace, MagnetPlace
from hidewright.design.magnets import safe_distance
from hidewright.errors import Remark, Remedy


def safety_remarks(
    carried: tuple[Carried, ...],
    fittings: tuple[FittingPlace, ...],
    magnets: tuple[MagnetPlace, ...],
    leathers: tuple[tuple[str, Leather], ...],
) -> tuple[Remark, ...]:
    """Return remarks on magnets, steel, points and leathers that harm what is carried or who works.

    A magnet beside a thing it spoils is forbidden, with the distance that would be safe; so is a
    steel fitting beside a compass. Only vegetable-tanned leather is moulded wet.

    Args:
        carried: What goes in.
        fittings: Small hardware.
        magnets: Closing magnets.
        leathers: (role, leather) of every moulded piece.
    """
    found: list[Remark] = []
    for one in carried:
        for kind in one.thing.magnet_sensitive:
            if magnets:
                away = max(safe_distance(m.magnet, kind) for m in magnets)
                found.append(
                    Remark(
                        code="magnet-spoils",
                        severity="forbids",
                        place=magnets[0].name,
                        limit=away,
                        sentence=(
                            f"No magnet may lie near the {one.thing.name} ({kind}); it would be "
                            f"safe only from about {math.ceil(away)} mm on. Close it without "
                            "magnets, or with a strap and a solid brass stud."
                        ),
                        remedies=(Remedy(field="measures.closing", value="none"),),
                    )
                )
            steel = [f for f in fittings if f.fitting.ferrous]
            if kind == "compass" and steel:
                found.append(
                    Remark(
                        code="steel-near-compass",
                        severity="forbids",
                        place=steel[0].name,
                        sentence=(
                            f"{steel[0].fitting.name} is magnetic and turns the {one.thing.name}'s "
                            "needle. Take solid brass."
                        ),
                    )
                )
        if one.thing.sharp_points:
            found.append(
                Remark(
                    code="sharp-points",
                    severity="warning",
                    place=one.thing.name,
                    sentence=(
                        f"The {one.thing.name} has sharp points: give it a cap or a hard sheath "
                        "before it goes in, and keep carbon steel dry and oiled."
                    ),
                )
            )
    for role, leather in leathers:
        if leather.tannage != "vegetable":
            found.append(
                Remark(
                    code="not-vegetable-tanned",
                    severity="forbids",
                    place=role,
                    sentence=(
                        f"{leather.name} is of {leather.tannage} tannage: only vegetable-tanned "
                        "leather keeps a wet-moulded shape; never laser unknown tannage."
                    ),
                )
            )
    return tuple(found)
