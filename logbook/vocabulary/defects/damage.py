"""Damage and handling, and the faults that came in with the goods."""

from __future__ import annotations

from logbook.vocabulary.defects.entry import DefectKind

DAMAGE: tuple[DefectKind, ...] = (
    DefectKind(
        name="hoop_marks",
        label="Hoop marks",
        definition="A ring, a crease or a shine left by the hoop is still seen after the piece "
        "has been steamed.",
        usual_levers=("hooping", "fabric", "backing"),
        remedies=(
            "Steam, mist or wash the mark out; follow the garment's care label, try scrap first "
            "and keep hands clear of steam.",
            "Wrap the ring and tighten the screw less.",
            "Use a magnetic frame; mind fingers, and keep it away from pacemakers and bank cards.",
            "Float the piece on adhesive backing, and watch for shifting and gaps.",
        ),
        source="how-to and trade magazine articles; practice is divided on floating",
        cautions=("heat", "magnetic_frames"),
    ),
    DefectKind(
        name="needle_cuts",
        label="Needle cuts",
        definition="Broken threads of the cloth, holes or runs along the edge of the stitching or "
        "inside small letters, seen when the cloth is eased gently against the light. Look again "
        "after a wash.",
        usual_levers=("needle_point", "needle_nm", "density", "backing", "speed_spm"),
        remedies=(
            "Stop the machine and fit a new ball-point needle, size 70/10 or 65/9.",
            "Lower the density and add underlay in its place.",
            "Use a backing with more fibre to it.",
            "Lower the speed.",
        ),
        source="trainers' articles on holes in garments; common practice",
        cautions=("moving_needles",),
    ),
    DefectKind(
        name="misplacement",
        label="Off placement",
        definition="The design sits further from its marked place, or more crooked, than the "
        "customer's tolerance allows; measure from the seam or edge on the ticket.",
        usual_levers=("operator", "hooping", "design"),
        remedies=(
            "Agree the customer's tolerance and write it on the ticket.",
            "Use a hooping station or a template.",
            "Mark the centre and the upright before hooping, and hoop by the grain.",
            "Trace the design in the hoop and approve a first piece before the run.",
        ),
        source="quality pages of consultants and decorators, whose tolerances differ widely",
        cautions=("moving_needles",),
    ),
    DefectKind(
        name="trimming_damage",
        label="Trimming damage",
        definition="The cloth or the stitching is nicked, torn or pulled out of shape where "
        "thread tails or backing were taken away.",
        usual_levers=("backing", "backing_layers", "operator"),
        remedies=(
            "Tear close to the stitches and support them with the other hand, away from the "
            "machine.",
            "Use two light sheets, torn away one at a time, in place of one heavy sheet.",
            "Trim with blunt-tipped scissors, leaving 3 to 6 mm of backing, and store blades "
            "closed.",
            "Give the trim table more light and more time.",
        ),
        source="supplier pages on tear-away; common practice",
        cautions=("moving_needles",),
    ),
    DefectKind(
        name="soiling",
        label="Soiling and heat marks",
        definition="Oil, pen, adhesive or topping is left on the piece, or it is scorched, glazed "
        "or melted by heat. Stains that came in with the garment are faults of the fabric.",
        usual_levers=("machine", "topping", "hooping", "operator"),
        remedies=(
            "Stop the machine, wipe it down after oiling and sew the first piece on scrap.",
            "Spray adhesive in a ventilated place away from machines and anything that can ignite "
            "it, or use a fusible sheet instead, at its maker's temperature and on scrap first.",
            "Take topping off as its maker says, and try it on scrap first.",
            "Press by the makers' temperatures, try scrap first and never leave a press closed.",
        ),
        source="trade articles on repairs; common practice",
        cautions=("moving_needles", "heat", "spray_adhesive"),
    ),
    DefectKind(
        name="fabric_faults",
        label="Faults of the fabric",
        definition="Holes, stains, shade or knitting faults that the piece came in with from the "
        "mill or the garment maker. Kept apart and never charged to the setup.",
        usual_levers=(),
        remedies=(
            "Look at garments as they are unpacked, before any are hooped.",
            "Keep one faulty piece and its carton label, and tell whoever supplied the goods.",
        ),
        source="decorators' spoilage policies, which part mill faults from their own",
        charged_to_setup=False,
    ),
)
