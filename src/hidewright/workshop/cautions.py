"""The usual cautions, told with every pack; the tool defers to data sheets, codes and practice."""

GENERAL = (
    "Laser: never cut PVC, vinyl, polycarbonate or leather of unknown tannage or finish; "
    "extract the fumes; never leave a running laser alone; keep an extinguisher in reach.",
    "Boards: wear a mask and use extraction for MDF dust when sanding or routing edges; ears and "
    "eyes protected. Sand the char off and seal the board before wet leather touches it.",
    "Water: soak in hand-warm water only. Above about 55 °C vegetable-tanned leather shrinks and "
    "is destroyed.",
    "Knives: the blade moves away from the hand that holds; clamp what can turn.",
    "Acrylic under load splinters: glasses. Clean fresh-cut acrylic with water and soap only.",
    "Dyes, solvents and contact glue: gloves, ventilation, no flame or running laser near them.",
    "Bare iron and steel stain wet vegetable-tanned leather: use brass, stainless steel, plastic.",
    "The sizes rest on assumed shrinkage until you have measured your own leather: make one first, "
    "measure it, then cut the batch.",
    "The makers' data sheets, your local codes and licensed practice come before what is said "
    "here.",
)
MAGNETS = (
    "Small strong magnets are dangerous if swallowed: keep them from children and sew them in. "
    "They disturb implants, compasses, striped cards and watches, and snap together: glasses.",
)
SHARP = (
    "Sharp points get a cap or a hard sheath. Carbon steel rusts in vegetable-tanned leather and "
    "stains it: dry and oiled, and not stored in it for long.",
)
