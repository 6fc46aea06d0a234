"""What can go wrong with an embroidered piece: how to see it, count it, and what to try first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

from logbook.errors import VocabularyError
from logbook.vocabulary.choices import normalise

_PIECES = "pieces inspected"
_STITCHES = "stitches sewn"


@dataclass(frozen=True, slots=True)
class DefectKind:
    """One kind of defect, and all that the pages, the sheet and the advice say of it.

    Parameters
    ----------
    name
        The run sheet's column.
    label
        What pages show.
    measure
        ``pieces`` that show it, or ``events`` that happened.
    definition
        What a person sees, so that two people count alike.
    counted_against
        The exposure in words: ``pieces inspected`` or ``stitches sewn``.
    usual_levers
        Columns of the run sheet that usually move it, the strongest first.
    remedies
        What a practitioner tries, in that order.
    source
        The kind of publication that the entry rests on.
    charged_to_setup
        False where the setup cannot be blamed for it.
    own
        True for a kind that a shop has added for itself.
    """

    name: str
    label: str
    measure: Literal["pieces", "events"]
    definition: str
    counted_against: str
    usual_levers: tuple[str, ...]
    remedies: tuple[str, ...]
    source: str
    charged_to_setup: bool = True
    own: bool = False


DEFECT_KINDS: tuple[DefectKind, ...] = (
    DefectKind(
        name="puckering",
        label="Puckering",
        measure="pieces",
        definition="The cloth round the stitching lies in waves, folds or a cup when the piece is "
        "laid out relaxed and off the hoop. Say at which stage it was seen: some comes out only "
        "in the wash.",
        counted_against=_PIECES,
        usual_levers=("backing", "backing_gsm", "hooping", "density", "speed_spm", "needle_nm"),
        remedies=(
            "Hoop again with the cloth flat and unstretched, in the smallest hoop that takes the "
            "design.",
            "Step the backing up: from tear-away to cut-away, or to the next weight.",
            "Bond the backing to the cloth with a fusible sheet, or with a light adhesive sprayed "
            "well away from machines and anything that can ignite it.",
            "Stop the machine and ease the top tension, then the bobbin tension, measured with a "
            "gauge.",
            "Lower the speed.",
            "Stop the machine and fit a new needle one size finer.",
            "Have the design edited: lighter top stitching over more underlay, sewn from the "
            "centre outwards.",
            "Make the design smaller, or agree another cloth with the customer.",
        ),
        source="trade advice columns and digitising articles; common practice",
    ),
    DefectKind(
        name="gaps",
        label="Gaps between areas",
        measure="pieces",
        definition="Bare ground shows between areas of stitching that were meant to meet, or an "
        "outline sits off its fill. Judge at arm's length; half a millimetre or more is usually "
        "seen.",
        counted_against=_PIECES,
        usual_levers=("hooping", "backing", "backing_gsm", "speed_spm", "density"),
        remedies=(
            "Stop the machine and check that the hoop is seated and that nothing catches it.",
            "Hoop again in the right size of hoop.",
            "Change to cut-away, or bond the backing to the cloth.",
            "Lower the speed.",
            "Stop the machine and balance top and bobbin tension with a gauge.",
            "Add underlay that ties the cloth to the backing before the top stitches fall.",
            "Have pull compensation raised by 0.1 to 0.2 mm and each outline sewn soon after its "
            "fill.",
        ),
        source="trade columns on registration and a digitising tutorial; common practice",
    ),
    DefectKind(
        name="shadowing",
        label="Backing shows through",
        measure="pieces",
        definition="The outline or the colour of the backing is seen from the face, with the "
        "piece laid over a skin-tone or mid-grey card and held at arm's length.",
        counted_against=_PIECES,
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
    ),
    DefectKind(
        name="sinking",
        label="Sinking stitches",
        measure="pieces",
        definition="Strokes look narrower than they were sewn, or pile and loops stand up through "
        "the stitching. Look again after one wash: on terry the loops can come back.",
        counted_against=_PIECES,
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
    ),
    DefectKind(
        name="coverage",
        label="Poor coverage",
        measure="pieces",
        definition="The ground is seen inside a filled area at arm's length in ordinary light.",
        counted_against=_PIECES,
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
    DefectKind(
        name="looping",
        label="Looping",
        measure="pieces",
        definition="Loose loops of top thread stand on the face, or can be lifted with the tip of "
        "a pencil.",
        counted_against=_PIECES,
        usual_levers=("machine", "thread", "needle_nm", "speed_spm"),
        remedies=(
            "Stop the machine and re-thread the whole path, with the thread seated in the discs.",
            "Stop the machine and clean the bobbin case.",
            "Stop the machine and set the tension with a gauge.",
            "Stop the machine and fit a new needle, turned as the machine's maker shows.",
        ),
        source="thread makers' notes on tension; common practice",
    ),
    DefectKind(
        name="bobbin_showing",
        label="Bobbin thread on the face",
        measure="pieces",
        definition="Specks or a line of bobbin thread are seen on the face, mostly along the "
        "edges of columns.",
        counted_against=_PIECES,
        usual_levers=("machine", "thread", "speed_spm"),
        remedies=(
            "Sew a test row of satin letters on every needle and look at the back: about one "
            "third should be bobbin thread.",
            "Stop the machine and clean lint from the bobbin case.",
            "If most needles are wrong, stop the machine and set the bobbin tension with a gauge.",
            "If one needle is wrong, stop the machine and ease the top tension of that needle.",
        ),
        source="thread makers' notes and articles on tension tests",
    ),
    DefectKind(
        name="skipped_stitches",
        label="Skipped stitches",
        measure="pieces",
        definition="Stitches are missing: a long float, a gap in a row, or a whole element that "
        "did not sew.",
        counted_against=_PIECES,
        usual_levers=("needle_nm", "needle_point", "machine", "hooping"),
        remedies=(
            "Stop the machine and fit a new needle, large enough for the goods.",
            "Stop the machine, then check how firmly the cloth is held and the height of the "
            "presser foot.",
            "After a thread break, back up five to ten stitches before sewing on.",
            "Have a trained mechanic check the hook timing, with the power isolated.",
        ),
        source="common practice",
    ),
    DefectKind(
        name="hoop_marks",
        label="Hoop marks",
        measure="pieces",
        definition="A ring, a crease or a shine left by the hoop is still seen after the piece "
        "has been steamed.",
        counted_against=_PIECES,
        usual_levers=("hooping", "fabric", "backing"),
        remedies=(
            "Steam, mist or wash the mark out; follow the garment's care label, try scrap first "
            "and keep hands clear of steam.",
            "Wrap the ring and tighten the screw less.",
            "Use a magnetic frame; mind fingers, and keep it away from pacemakers and bank cards.",
            "Float the piece on adhesive backing, and watch for shifting and gaps.",
        ),
        source="how-to and trade magazine articles; practice is divided on floating",
    ),
    DefectKind(
        name="needle_cuts",
        label="Needle cuts",
        measure="pieces",
        definition="Broken threads of the cloth, holes or runs along the edge of the stitching or "
        "inside small letters, seen when the cloth is eased gently against the light. Look again "
        "after a wash.",
        counted_against=_PIECES,
        usual_levers=("needle_point", "needle_nm", "density", "backing", "speed_spm"),
        remedies=(
            "Stop the machine and fit a new ball-point needle, size 70/10 or 65/9.",
            "Lower the density and add underlay in its place.",
            "Use a backing with more fibre to it.",
            "Lower the speed.",
        ),
        source="trainers' articles on holes in garments; common practice",
    ),
    DefectKind(
        name="misplacement",
        label="Off placement",
        measure="pieces",
        definition="The design sits further from its marked place, or more crooked, than the "
        "customer's tolerance allows; measure from the seam or edge on the ticket.",
        counted_against=_PIECES,
        usual_levers=("operator", "hooping", "design"),
        remedies=(
            "Agree the customer's tolerance and write it on the ticket.",
            "Use a hooping station or a template.",
            "Mark the centre and the upright before hooping, and hoop by the grain.",
            "Trace the design in the hoop and approve a first piece before the run.",
        ),
        source="quality pages of consultants and decorators, whose tolerances differ widely",
    ),
    DefectKind(
        name="trimming_damage",
        label="Trimming damage",
        measure="pieces",
        definition="The cloth or the stitching is nicked, torn or pulled out of shape where "
        "thread tails or backing were taken away.",
        counted_against=_PIECES,
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
    ),
    DefectKind(
        name="soiling",
        label="Soiling and heat marks",
        measure="pieces",
        definition="Oil, pen, adhesive or topping is left on the piece, or it is scorched, glazed "
        "or melted by heat. Stains that came in with the garment are faults of the fabric.",
        counted_against=_PIECES,
        usual_levers=("machine", "topping", "hooping", "operator"),
        remedies=(
            "Stop the machine, wipe it down after oiling and sew the first piece on scrap.",
            "Spray adhesive in a ventilated place away from machines and ignition, or use a "
            "fusible sheet instead.",
            "Take topping off as its maker says, and try it on scrap first.",
            "Press by the makers' temperatures, try scrap first and never leave a press closed.",
        ),
        source="trade articles on repairs; common practice",
    ),
    DefectKind(
        name="fabric_faults",
        label="Faults of the fabric",
        measure="pieces",
        definition="Holes, stains, shade or knitting faults that the piece came in with from the "
        "mill or the garment maker. Kept apart and never charged to the setup.",
        counted_against=_PIECES,
        usual_levers=(),
        remedies=(
            "Look at garments as they are unpacked, before any are hooped.",
            "Keep one faulty piece and its carton label, and tell whoever supplied the goods.",
        ),
        source="decorators' spoilage policies, which part mill faults from their own",
        charged_to_setup=False,
    ),
    DefectKind(
        name="thread_breaks",
        label="Thread breaks",
        measure="events",
        definition="The machine stops, or has to be stopped, because the top thread has parted. "
        "Count each stop, and note head, needle and place in the design.",
        counted_against=_STITCHES,
        usual_levers=("machine", "needle_nm", "thread", "density", "speed_spm", "design"),
        remedies=(
            "Stop the machine and re-thread the whole path.",
            "Stop the machine and fit a new needle.",
            "Stop the machine and swap the cone.",
            "Stop the machine and set the tension with a gauge.",
            "Lower the speed.",
            "Stop the machine and fit a larger or a coated needle, 80/12 for abrasive goods.",
            "Have stitches under 1 mm and piled-up layers edited out of the design.",
        ),
        source="trade magazine articles on thread breaks; common practice",
    ),
    DefectKind(
        name="needle_breaks",
        label="Needle breaks",
        measure="events",
        definition="A needle has broken, whole or at the tip. Count each needle, and account for "
        "every part before any piece goes on.",
        counted_against=_STITCHES,
        usual_levers=("needle_nm", "machine", "density", "fabric", "speed_spm"),
        remedies=(
            "Stop the machine and find every part of the needle; hold the piece and its "
            "neighbours until all parts are found.",
            "Stop the machine and check that the hoop or cap frame clears the needle plate, then "
            "trace the design.",
            "Stop the machine and fit a needle large enough for the seams and layers in the goods.",
            "Lower the speed over seams.",
            "Have dense places in the design thinned out.",
        ),
        source="needle control policies of garment buyers; common practice",
    ),
    DefectKind(
        name="bird_nests",
        label="Bird nests",
        measure="events",
        definition="A wad of thread has gathered under the needle plate, often holding the piece "
        "down. Count each time that it happens.",
        counted_against=_STITCHES,
        usual_levers=("machine", "hooping", "thread"),
        remedies=(
            "Stop the machine at once and isolate the power before working under the plate.",
            "Once the machine is stopped, cut the wad free from below; do not pull the piece.",
            "With the machine still stopped, re-thread the whole path.",
            "With the machine still stopped, clean the bobbin case.",
            "Hoop again, firmly, with no gap between cloth and needle arm.",
            "Have a trained mechanic check the presser foot and the hook, with the power isolated.",
        ),
        source="trade magazine and repair articles; common practice",
    ),
)

ANY = DefectKind(
    name="any",
    label="Any defect",
    measure="pieces",
    definition="The piece shows at least one defect of any kind; a piece with three defects "
    "counts once.",
    counted_against=_PIECES,
    usual_levers=("backing", "backing_gsm", "hooping", "density", "fabric", "speed_spm"),
    remedies=("Find the costliest single kind in the weekly review and start with its remedies.",),
    source="garment quality control formulas: percent defective",
)


def kind(name: str, own: Sequence[DefectKind] = ()) -> DefectKind:
    """Look a defect kind up by its column name or its label.

    Parameters
    ----------
    name
        Column name or label; case, spaces and hyphens do not matter. ``any`` is known too.
    own
        Kinds that the shop has added for itself.

    Returns
    -------
    DefectKind

    Raises
    ------
    VocabularyError
        If no such kind is known; the message names the nearest ones.
    """
    known = (*DEFECT_KINDS, ANY, *own)
    wanted = normalise(name)
    for each in known:
        if wanted in (normalise(each.name), normalise(each.label)):
            return each
    names = [each.name for each in known]
    near = get_close_matches(wanted.replace(" ", "_"), names, n=3, cutoff=0.5)
    hint = f"Did you mean {' or '.join(near)}?" if near else f"Known kinds: {', '.join(names)}."
    nearest = f" The nearest known: {', '.join(near)}." if near else ""
    raise VocabularyError(f"There is no defect kind “{name}”.{nearest}", hint)
