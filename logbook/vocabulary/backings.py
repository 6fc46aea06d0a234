"""Backings: the closed list, its trade spellings, and what is known of each type."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from logbook.vocabulary.bands import Band
from logbook.vocabulary.choices import Choice, ChoiceList

# One avoirdupois ounce is 28.349523125 g, one square yard 0.83612736 m²; both exact by the
# international yard and pound agreement of 1959. The quotient is rounded to five figures.
GRAMS_PER_SQUARE_METRE_PER_OUNCE_PER_SQUARE_YARD = 33.906


@dataclass(frozen=True, slots=True)
class BackingFacts:
    """What the trade says of one type of backing.

    ``usual_gsm`` are nominal weights met with, in grams a square metre; suppliers' steps are not
    interchangeable, so they guide an entry and never refuse one.
    """

    definition: str
    usual_gsm: tuple[int, ...]
    shades: tuple[str, ...]
    removal: str
    stays: str
    cautions: tuple[str, ...]
    source: str


BACKINGS = ChoiceList(
    column="backing",
    label="Backing",
    choices=(
        Choice(
            "none",
            "No backing",
            "sewn on the goods alone",
            "no, nil, without, without backing, unbacked",
        ),
        Choice(
            "cut_away",
            "Cut-away",
            "stays in the piece for life, trimmed round the design",
            "cutaway, cut aways, cutaways, cut, c a, cutaway backing, cut away backing, cutaway "
            "stabilizer, cut away stabilizer, cutaway stabiliser, cut away stabiliser, "
            "performance cutaway, performance cut away",
        ),
        Choice(
            "tear_away",
            "Tear-away",
            "torn off after sewing; cap tear-away is one of these",
            "tearaway, tear aways, tearaways, tear, tear off, t a, tearaway backing, tear away "
            "backing, tearaway stabilizer, tear away stabilizer, tearaway stabiliser, tear away "
            "stabiliser, crisp tearaway, crisp tear away, cap tearaway, cap tear away, cap backing",
        ),
        Choice(
            "wash_away_tear_away",
            "Wash-away tear-away",
            "torn off, and what is left launders out",
            "washaway tearaway, washaway tear away, wash away tearaway, wash and tear, tear and "
            "wash, tear away wash away, tearaway washaway",
        ),
        Choice(
            "sheer_mesh",
            "Sheer mesh",
            "translucent cut-away, also called no-show mesh",
            "mesh, no show mesh, noshow mesh, no show, no show cutaway, no show cut away, poly "
            "mesh, polymesh, polyester mesh, nylon mesh, mesh cutaway, mesh cut away, cutaway "
            "mesh, cut away mesh, sheer cutaway, sheer cut away",
        ),
        Choice(
            "fusible_sheer_mesh",
            "Fusible sheer mesh",
            "sheer mesh bonded on with heat",
            "fusible mesh, fusible no show mesh, fusible no show, fusible poly mesh, fusible "
            "polymesh, no show mesh fusible, mesh fusible, iron on mesh, fused mesh",
        ),
        Choice(
            "water_soluble",
            "Water-soluble",
            "a fibrous sheet that dissolves altogether",
            # On its own "wash away" means the sheet that goes altogether, not the tear-away kind.
            "wash away, washaway, wash away backing, watersoluble, water soluble backing, water "
            "soluble stabilizer, water soluble stabiliser, wss, soluble, fibrous water soluble",
        ),
        Choice(
            "adhesive",
            "Peel-and-stick",
            "a sheet with its own adhesive under a liner",
            "peel n stick, peel stick, sticky, sticky back, sticky backing, stick on, self "
            "adhesive, selfadhesive, adhesive backing, adhesive tear away, adhesive tearaway, "
            "self adhesive tear away, self adhesive tearaway",
        ),
    ),
)

BACKING_SHADES = ChoiceList(
    column="backing_shade",
    label="Backing shade",
    choices=(
        Choice("white", "White", "for white, light and mid garments", "wht"),
        Choice("black", "Black", "for dark garments", "blk"),
        Choice(
            "beige",
            "Beige",
            "skin tone, for sheer white worn next to skin",
            "skin tone, skin, nude, tan",
        ),
    ),
)

BACKING_FACTS: Mapping[str, BackingFacts] = {
    "none": BackingFacts(
        definition="Nothing behind the cloth but the goods' own layers.",
        usual_gsm=(),
        shades=(),
        removal="nothing to remove",
        stays="nothing stays",
        cautions=("Most goods but stiff caps and heavy canvas distort without any backing.",),
        source="common practice",
    ),
    "cut_away": BackingFacts(
        definition="A nonwoven that does not tear; it holds stretchy cloth through wear and wash.",
        usual_gsm=(40, 50, 51, 61, 68, 80, 85, 102, 110, 127),
        shades=("white", "black"),
        removal="trim round the design, leaving 3 to 6 mm",
        stays="stays for life",
        cautions=(
            "Heavy opaque sheets show through light, thin cloth.",
            "Cover a scratchy back on skin-side and infants' wear.",
        ),
        source="a trade magazine's weight table, suppliers' guides",
    ),
    "tear_away": BackingFacts(
        definition="A paper-like nonwoven that tears off; it holds the cloth only while sewing.",
        usual_gsm=(24, 30, 44, 51, 54, 64, 68, 102),
        shades=("white", "black"),
        removal="tear off close to the stitches, one sheet at a time",
        stays="stays only beneath the stitches",
        cautions=(
            "Dense stitching can cut it through before the design ends.",
            "Some sheets tear one way only: note the direction.",
            "Tear away from the machine, with the stitches supported.",
        ),
        source="a trade magazine's weight table, a product directory",
    ),
    "wash_away_tear_away": BackingFacts(
        definition="A tear-away whose remainder launders out, for goods seen from both sides.",
        usual_gsm=(68,),
        shades=("white",),
        removal="tear off, then wash",
        stays="goes with the first washes",
        cautions=("Keep dry before sewing.", "Keep spray adhesive off it: it would not wash out."),
        source="a supplier's guide to types of backing",
    ),
    "sheer_mesh": BackingFacts(
        definition="A translucent embossed nylon or polyester nonwoven, soft beneath thin cloth.",
        usual_gsm=(34, 44, 51, 61, 68),
        shades=("white", "black", "beige"),
        removal="trim round the design, leaving 3 to 6 mm",
        stays="stays for life",
        cautions=("It can shrink under steam or in the wash: test a square before a run.",),
        source="common practice, a bench test of shrinkage on a community page",
    ),
    "fusible_sheer_mesh": BackingFacts(
        definition="Sheer mesh with a heat-set adhesive on one side.",
        usual_gsm=(51, 61),
        shades=("white", "black"),
        removal="trim round the design, leaving 3 to 6 mm",
        stays="stays for life",
        cautions=(
            "Iron or press hot enough to burn: follow the backing maker's temperature and try "
            "scrap first.",
            "Put the adhesive side to the wrong side of the cloth and let it cool flat.",
        ),
        source="interfacing guides, common practice",
    ),
    "water_soluble": BackingFacts(
        definition="A fibrous sheet that dissolves in water, for lace and woven sheers.",
        usual_gsm=(35, 51, 68),
        shades=("white",),
        removal="rinse out as its maker says",
        stays="nothing stays",
        cautions=("Keep dry before sewing.", "Keep spray adhesive off it: it would not wash out."),
        source="common practice",
    ),
    "adhesive": BackingFacts(
        definition="A sheet with pressure-sensitive adhesive under a liner, for goods that cannot "
        "be hooped.",
        usual_gsm=(51, 68, 85),
        shades=("white",),
        removal="tear or cut off once unhooped",
        stays="stays beneath the stitches",
        cautions=("Adhesive gathers on needle and hook: clean them with the machine stopped.",),
        source="a supplier's guide to types of backing",
    ),
}

# Cut midway between the steps at which backings are sold (1.1 · 1.5–1.9 · 2.0–2.4 · 2.5 · 3.0
# oz/yd²), so that a nominal weight does not sit on an edge. The ladder is inferred from a trade
# magazine's table of backing weights by garment.
WEIGHT_BANDS: tuple[Band, ...] = (
    Band("very_light", "Very light, under 47 g/m²", 0.0, 47.0),
    Band("light", "Light, 47 to 66 g/m²", 47.0, 66.0),
    Band("medium", "Medium, 66 to 83 g/m²", 66.0, 83.0),
    Band("medium_heavy", "Medium heavy, 83 to 93 g/m²", 83.0, 93.0),
    Band("heavy", "Heavy, 93 g/m² and over", 93.0, math.inf),
)
