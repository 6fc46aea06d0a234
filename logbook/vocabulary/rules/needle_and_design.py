"""Rules of thumb on needle, thread, speed and design."""

from __future__ import annotations

from logbook.vocabulary.rules.rule import RuleOfThumb

NEEDLE_AND_DESIGN_RULES: tuple[RuleOfThumb, ...] = (
    RuleOfThumb(
        name="ball_point_for_knits",
        if_text="a knit is sewn with a sharp needle",
        then_text="Expect needle cuts; fit a ball point, with the machine stopped.",
        why="A sharp point cuts the loops of the knit.",
        status="strong",
        source="a trade question-and-answer page, a trainer's article on holes",
        conditions={"fabric_stretch": ("mid", "high"), "needle_point": ("sharp",)},
        expects=("needle_cuts",),
    ),
    RuleOfThumb(
        name="sharp_for_heavy_goods",
        if_text="structured caps, coated or heavy wovens are sewn with a ball point",
        then_text="Fit a sharp needle of 75/11 or 80/12, with the machine stopped.",
        why="It has to go through, and a ball is turned aside.",
        status="usual",
        source="a trade question-and-answer page",
        conditions={
            "fabric": ("structured_cap", "twill_denim_canvas"),
            "needle_point": ("light_ball", "medium_ball"),
        },
        expects=("thread_breaks", "needle_breaks"),
    ),
    RuleOfThumb(
        name="small_letters_fine_needle",
        if_text="letters are under 6 mm high",
        then_text="Use 60-weight thread with a 65/9 or 60/8 needle, and sew slower.",
        why="The stroke is narrower than a standard needle and thread.",
        status="usual",
        source="a trade question-and-answer page, a trade magazine's stitching guidelines",
        expects=("sinking", "needle_cuts"),
    ),
    RuleOfThumb(
        name="needle_age",
        if_text="a needle has sewn over 8 hours or some 2 million stitches",
        then_text="Expect thread breaks and needle cuts to climb; change it, with the machine "
        "stopped.",
        why="The point grows a burr.",
        status="usual",
        source="a retailer's article on small lettering",
        expects=("thread_breaks", "needle_cuts"),
    ),
    RuleOfThumb(
        name="short_stitches_and_layers",
        if_text="stitches are under 1 mm, or more than three layers lie on each other",
        then_text="Expect thread breaks; have the design edited.",
        why="Thread and holes pile up in one place.",
        status="strong",
        source="trade magazine articles on thread breaks",
        expects=("thread_breaks",),
    ),
    RuleOfThumb(
        name="underlay_before_density",
        if_text="a dense design is wanted for the sake of cover",
        then_text="Add underlay before density.",
        why="Density makes holes, pull and stiffness.",
        status="strong",
        source="a trainer's article on holes, a textile journal's study of stiffness",
        conditions={"density_band": ("layered", "very_dense")},
        expects=("puckering", "needle_cuts"),
    ),
    RuleOfThumb(
        name="stiff_cap_seam",
        if_text="a cap is stiff, or its seam stands up",
        then_text="Press it with steam first, minding burns; sew slowly over the seam, with a "
        "larger needle.",
        why="The cap flags, and the seam turns the needle aside.",
        status="usual",
        source="a trainer's tip and a trade guide on caps",
        expects=("thread_breaks", "needle_breaks"),
    ),
    RuleOfThumb(
        name="cap_design_height",
        if_text="a cap design is over 57 mm high, or near the bill",
        then_text="Expect needle breaks and distortion; lower the design, and trace it before "
        "sewing.",
        why="The needle strikes the frame, and the cap flags.",
        status="strong",
        source="a trade magazine's stitching guidelines; common practice",
        expects=("needle_breaks", "gaps"),
    ),
    RuleOfThumb(
        name="fast_on_knit",
        if_text="a knit is sewn above 850 stitches a minute with tight polyester thread",
        then_text="Expect puckering; slow down and ease the tension, with the machine stopped.",
        why="The thread stretches while sewing and relaxes afterwards.",
        status="usual",
        source="a digitiser's article on puckering",
        conditions={"fabric_stretch": ("mid", "high"), "speed_band": ("fast",)},
        expects=("puckering",),
    ),
    RuleOfThumb(
        name="where_the_breaks_are",
        if_text="most thread breaks, say over 60 %, fall on one head, needle, colour or place",
        then_text="Look first at that head, needle, cone or place in the file, with the machine "
        "stopped, and at the backing last.",
        why="A cause of the backing would be seen on every head.",
        status="strong",
        source="a trade magazine article on thread breaks, whose own example is 90 %",
        expects=("thread_breaks",),
    ),
)
