"""Distortion, fit, coverage and looks: what the finished stitching shows."""

from __future__ import annotations

from logbook.vocabulary.defects.entry import DefectKind

LOOKS: tuple[DefectKind, ...] = (
    DefectKind(
        name="puckering",
        label="Puckering",
        definition="The cloth round the stitching lies in waves, folds or a cup when the piece is "
        "laid out relaxed and off the hoop. Say at which stage it was seen: some comes out only "
        "in the wash.",
        usual_levers=("backing", "backing_gsm", "hooping", "density", "speed_spm", "needle_nm"),
        remedies=(
            "Hoop again with the cloth flat and unstretched, in the smallest hoop that takes the "
            "design.",
            "Step the backing up: from tear-away to cut-away, or to the next weight.",
            "Bond the backing to the cloth with a fusible sheet, at its maker's temperature and on "
            "scrap first, or with a light adhesive sprayed in a ventilated place away from "
            "machines and anything that can ignite it.",
            "Stop the machine and ease the top tension, then the bobbin tension, measured with a "
            "gauge.",
            "Lower the speed.",
            "Stop the machine and fit a new needle one size finer.",
            "Have the design edited: lighter top stitching over more underlay, sewn from the "
            "centre outwards.",
            "Make the design smaller, or agree another cloth with the customer.",
        ),
        source="trade advice columns and digitising articles; common practice",
        cautions=("moving_needles", "heat", "spray_adhesive"),
    ),
    DefectKind(
        name="gaps",
        label="Gaps between areas",
        definition="Bare ground shows between areas of stitching that were meant to meet, or an "
        "outline sits off its fill. Judge at arm's length; half a millimetre or more is usually "
        "seen.",
        usual_levers=("hooping", "backing", "backing_gsm", "speed_spm", "density"),
        remedies=(
            "Stop the machine and check that the hoop is seated and that nothing catches it.",
            "Hoop again in the right size of hoop.",
            "Change to cut-away, or bond the backing to the cloth with a fusible sheet, at its "
            "maker's temperature and on scrap first.",
            "Lower the speed.",
            "Stop the machine and balance top and bobbin tension with a gauge.",
            "Add underlay that ties the cloth to the backing before the top stitches fall.",
            "Have pull compensation raised by 0.1 to 0.2 mm and each outline sewn soon after its "
            "fill.",
        ),
        source="trade columns on registration and a digitising tutorial; common practice",
        cautions=("moving_needles", "heat"),
    ),
    DefectKind(
        name="shadowing",
        label="Backing shows through",
        definition="The outline or the colour of the backing is seen from the face, with the "
        "piece laid over a skin-tone or mid-grey card and held at arm's length.",
        usual_levers=("backing_shade", "backing", "backing_layers", "backing_gsm", "density"),
        remedies=(
            "Match the shade of the backing to the garment; on sheer white worn next to skin, try "
            "beige.",
            "Use a sheer mesh in place of an opaque sheet.",
            "Trim the backing round and close, without square corners.",
            "Use one layer, fused, in place of two; bond it by the backing maker's temperature "
            "and try it on scrap first.",
            "Lighten the design so that it needs less backing.",
            "On woven sheers use a backing that washes away.",
        ),
        source="supplier guides and a decorator's answers to polo buyers; common practice",
        cautions=("heat", "skin_and_infants"),
    ),
    DefectKind(
        name="sinking",
        label="Sinking stitches",
        definition="Strokes look narrower than they were sewn, or pile and loops stand up through "
        "the stitching. Look again after one wash: on terry the loops can come back.",
        usual_levers=("topping", "fabric", "density", "backing"),
        remedies=(
            "Lay a film topping over the pile.",
            "Add an edge run and a double zig-zag of underlay beneath the lettering.",
            "Put a light mesh fill in the garment's colour beneath the design, reaching 1.5 to "
            "2 mm beyond it.",
            "Have thin columns widened and pull compensation raised.",
            "Agree bolder or larger artwork with the customer.",
        ),
        source="trade columns on towels and fleece, trainers' articles on film and underlay",
        cautions=("heat",),
    ),
    DefectKind(
        name="coverage",
        label="Poor coverage",
        definition="The ground is seen inside a filled area at arm's length in ordinary light.",
        usual_levers=("density", "row_spacing_mm", "thread", "fabric_shade"),
        remedies=(
            "Add underlay in the colour of the top thread.",
            "Close the row spacing a little, for instance from 0.40 to 0.38 mm.",
            "Sew two light layers in place of one dense one.",
            "Choose a thread nearer to the ground in shade, or of the weight that the design "
            "expects.",
        ),
        source="a consultant's page of embroidery quality standards and a trade magazine",
    ),
)
