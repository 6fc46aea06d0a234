"""Things that happen while sewing, counted each time against the stitches sewn."""

from __future__ import annotations

from logbook.vocabulary.defects.entry import DefectKind

EVENTS: tuple[DefectKind, ...] = (
    DefectKind(
        name="thread_breaks",
        label="Thread breaks",
        measure="events",
        definition="The machine stops, or has to be stopped, because the top thread has parted. "
        "Count each stop, and note head, needle and place in the design.",
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
        headings=("breaks",),
        cautions=("moving_needles",),
    ),
    DefectKind(
        name="needle_breaks",
        label="Needle breaks",
        measure="events",
        definition="A needle has broken, whole or at the tip. Count each needle, and account for "
        "every part before any piece goes on.",
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
        cautions=("broken_needle", "moving_needles"),
    ),
    DefectKind(
        name="bird_nests",
        label="Bird nests",
        measure="events",
        definition="A wad of thread has gathered under the needle plate, often holding the piece "
        "down. Count each time that it happens.",
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
        cautions=("moving_needles",),
    ),
)
