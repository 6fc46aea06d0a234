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
        Choice("none", "No backing", "sewn on the goods alone"),
        Choice("cut_away", "Cut-away", "stays in the piece for life, trimmed round the design"),
        Choice("tear_away", "Tear-away", "torn off after sewing; cap tear-away is one of these"),
        Choice(
            "wash_away_tear_away",
            "Wash-away tear-away",
            "torn off, and what is left launders out",
        ),
        Choice("sheer_mesh", "Sheer mesh", "translucent cut-away, also called no-show mesh"),
        Choice("fusible_sheer_mesh", "Fusible sheer mesh", "sheer mesh bonded on with heat"),
        Choice("water_soluble", "Water-soluble", "a fibrous sheet that dissolves altogether"),
        Choice("adhesive", "Peel-and-stick", "a sheet with its own adhesive under a liner"),
    ),
    synonyms={
        "no": "none",
        "nil": "none",
        "without": "none",
        "without backing": "none",
        "unbacked": "none",
        "cutaway": "cut_away",
        "cut aways": "cut_away",
        "cutaways": "cut_away",
        "cut": "cut_away",
        "c a": "cut_away",
        "cutaway backing": "cut_away",
        "cut away backing": "cut_away",
        "cutaway stabilizer": "cut_away",
        "cut away stabilizer": "cut_away",
        "cutaway stabiliser": "cut_away",
        "cut away stabiliser": "cut_away",
        "performance cutaway": "cut_away",
        "performance cut away": "cut_away",
        "tearaway": "tear_away",
        "tear aways": "tear_away",
        "tearaways": "tear_away",
        "tear": "tear_away",
        "tear off": "tear_away",
        "t a": "tear_away",
        "tearaway backing": "tear_away",
        "tear away backing": "tear_away",
        "tearaway stabilizer": "tear_away",
        "tear away stabilizer": "tear_away",
        "tearaway stabiliser": "tear_away",
        "tear away stabiliser": "tear_away",
        "crisp tearaway": "tear_away",
        "crisp tear away": "tear_away",
        "cap tearaway": "tear_away",
        "cap tear away": "tear_away",
        "cap backing": "tear_away",
        "washaway tearaway": "wash_away_tear_away",
        "washaway tear away": "wash_away_tear_away",
        "wash away tearaway": "wash_away_tear_away",
        "wash and tear": "wash_away_tear_away",
        "tear and wash": "wash_away_tear_away",
        "tear away wash away": "wash_away_tear_away",
        "tearaway washaway": "wash_away_tear_away",
        "mesh": "sheer_mesh",
        "no show mesh": "sheer_mesh",
        "noshow mesh": "sheer_mesh",
        "no show": "sheer_mesh",
        "no show cutaway": "sheer_mesh",
        "no show cut away": "sheer_mesh",
        "poly mesh": "sheer_mesh",
        "polymesh": "sheer_mesh",
        "polyester mesh": "sheer_mesh",
        "nylon mesh": "sheer_mesh",
        "mesh cutaway": "sheer_mesh",
        "mesh cut away": "sheer_mesh",
        "cutaway mesh": "sheer_mesh",
        "cut away mesh": "sheer_mesh",
        "sheer cutaway": "sheer_mesh",
        "sheer cut away": "sheer_mesh",
        "fusible mesh": "fusible_sheer_mesh",
        "fusible no show mesh": "fusible_sheer_mesh",
        "fusible no show": "fusible_sheer_mesh",
        "fusible poly mesh": "fusible_sheer_mesh",
        "fusible polymesh": "fusible_sheer_mesh",
        "no show mesh fusible": "fusible_sheer_mesh",
        "mesh fusible": "fusible_sheer_mesh",
        "iron on mesh": "fusible_sheer_mesh",
        "fused mesh": "fusible_sheer_mesh",
        # On its own the word means the sheet that goes altogether, not the tear-away kind.
        "wash away": "water_soluble",
        "washaway": "water_soluble",
        "wash away backing": "water_soluble",
        "watersoluble": "water_soluble",
        "water soluble backing": "water_soluble",
        "water soluble stabilizer": "water_soluble",
        "water soluble stabiliser": "water_soluble",
        "wss": "water_soluble",
        "soluble": "water_soluble",
        "fibrous water soluble": "water_soluble",
        "peel n stick": "adhesive",
        "peel stick": "adhesive",
        "sticky": "adhesive",
        "sticky back": "adhesive",
        "sticky backing": "adhesive",
        "stick on": "adhesive",
        "self adhesive": "adhesive",
        "selfadhesive": "adhesive",
        "adhesive backing": "adhesive",
        "adhesive tear away": "adhesive",
        "adhesive tearaway": "adhesive",
        "self adhesive tear away": "adhesive",
        "self adhesive tearaway": "adhesive",
    },
)

BACKING_SHADES = ChoiceList(
    column="backing_shade",
    label="Backing shade",
    choices=(
        Choice("white", "White", "for white, light and mid garments"),
        Choice("black", "Black", "for dark garments"),
        Choice("beige", "Beige", "skin tone, for sheer white worn next to skin"),
    ),
    synonyms={
        "wht": "white",
        "blk": "black",
        "skin tone": "beige",
        "skin": "beige",
        "nude": "beige",
        "tan": "beige",
    },
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
