"""The usual caution beside a step, by the key that the step names.

Careful words, not rules: the makers' data sheets, local codes and licensed practice come first.
"""

CAUTIONS = {
    "laser": "Laser: never cut PVC, vinyl, polycarbonate or leather of unknown tannage or finish. "
    "Extract the fumes, stay beside it while it runs, keep an extinguisher in reach.",
    "board dust": "Board dust: mask and extraction when sanding or routing; ears and eyes "
    "protected. Seal the board before wet leather touches it.",
    "warm water": "Hand-warm water only: above about 55 °C vegetable-tanned leather shrinks and is "
    "destroyed.",
    "iron": "Bare iron and steel stain wet vegetable-tanned leather blue-black: brass, stainless "
    "steel, plastic, or film between.",
    "knife": "The blade moves away from the hand that holds; clamp what can turn; a sharp blade "
    "needs less force.",
    "acrylic": "Clear acrylic: clean it with water and soap only; dye solvent or alcohol may crack "
    "fresh-cut edges.",
    "acrylic under load": "Boards and acrylic under load may splinter: glasses.",
    "press": "Keep fingers out of the closing mould. The closed height is what counts: do not "
    "force a tool that stands.",
    "mould grows": "Leather that stays wet and closed grows mould: open the tool within 12 h.",
    "no heat": "No heater and no sun: above about 40 °C the outside dries hard while the inside is "
    "wet.",
    "punch": "Glasses when striking punches; the board under them must not slip.",
    "awl": "Awl and needles: never push towards the hand that holds; a cork on the point when it "
    "lies down.",
    "setting": "Glasses when setting rivets, studs and snaps: posts and rims may break off.",
    "magnets": "Small strong magnets are dangerous if swallowed: count them. They disturb "
    "implants, compasses, striped cards and watches, and snap together: glasses.",
    "glue": "Glue: read its data sheet. Solvent-based kinds: gloves, fresh air, no flame or "
    "running laser near.",
    "dye": "Dye: gloves, fresh air, a mask when it is sprayed; no flame or running laser near. "
    "Solvent rags dry flat outdoors or go into a lidded metal bin.",
    "paint": "Edge paint: read its data sheet; fresh air, gloves.",
    "sanding dust": "Sanding leather: mask and extraction; dye and paint dust as well.",
    "oily rags": "Rags with oil may heat up by themselves: dry them flat outdoors or put them into "
    "a lidded metal bin with water.",
    "sharp points": "Sharp points get a cap or a hard sheath. Carbon steel rusts in "
    "vegetable-tanned leather and stains it: dry and oiled, and not stored in it for long.",
}
