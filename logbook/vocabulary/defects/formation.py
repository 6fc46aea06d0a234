"""Stitch formation: what thread, tension and hook get wrong."""

from __future__ import annotations

from logbook.vocabulary.defects.entry import DefectKind

FORMATION: tuple[DefectKind, ...] = (
    DefectKind(
        name="looping",
        label="Looping",
        definition="Loose loops of top thread stand on the face, or can be lifted with the tip of "
        "a pencil.",
        usual_levers=("machine", "thread", "needle_nm", "speed_spm"),
        remedies=(
            "Stop the machine and re-thread the whole path, with the thread seated in the discs.",
            "Stop the machine and clean the bobbin case.",
            "Stop the machine and set the tension with a gauge.",
            "Stop the machine and fit a new needle, turned as the machine's maker shows.",
        ),
        source="thread makers' notes on tension; common practice",
        cautions=("moving_needles",),
    ),
    DefectKind(
        name="bobbin_showing",
        label="Bobbin thread on the face",
        definition="Specks or a line of bobbin thread are seen on the face, mostly along the "
        "edges of columns.",
        usual_levers=("machine", "thread", "speed_spm"),
        remedies=(
            "Sew a test row of satin letters on every needle and look at the back: about one "
            "third should be bobbin thread.",
            "Stop the machine and clean lint from the bobbin case.",
            "If most needles are wrong, stop the machine and set the bobbin tension with a gauge.",
            "If one needle is wrong, stop the machine and ease the top tension of that needle.",
        ),
        source="thread makers' notes and articles on tension tests",
        cautions=("moving_needles",),
    ),
    DefectKind(
        name="skipped_stitches",
        label="Skipped stitches",
        definition="Stitches are missing: a long float, a gap in a row, or a whole element that "
        "did not sew.",
        usual_levers=("needle_nm", "needle_point", "machine", "hooping"),
        remedies=(
            "Stop the machine and fit a new needle, large enough for the goods.",
            "Stop the machine, then check how firmly the cloth is held and the height of the "
            "presser foot.",
            "After a thread break, back up five to ten stitches before sewing on.",
            "Have a trained mechanic check the hook timing, with the power isolated.",
        ),
        source="common practice",
        cautions=("moving_needles",),
    ),
)
