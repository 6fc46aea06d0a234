"""Fabrics: an open list with the attributes that matter to a setup; shops add their own."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.vocabulary.choices import Choice, ChoiceList, normalise


@dataclass(frozen=True, slots=True)
class Fabric:
    """One class of cloth, with the weight and the setup usual for it.

    ``stretch``, ``pile`` and ``sheerness`` are values of `FABRIC_ATTRIBUTES`; ``synonyms`` are
    normalised spellings; weights are in grams a square metre, and usual, not limits.
    """

    name: str
    label: str
    gsm_low: int
    gsm_high: int
    stretch: str
    pile: str
    sheerness: str
    usual_backing: str
    usual_topping: str
    usual_needle: str
    synonyms: tuple[str, ...] = ()


FABRIC_SHADES = ChoiceList(
    column="fabric_shade",
    label="Fabric shade",
    choices=(
        Choice("light", "Light", "white, cream, pastels", "white, cream, ivory, pale, pastel"),
        Choice("mid", "Mid", "neither white nor dark", "medium, middle, mid tone"),
        Choice("dark", "Dark", "black, navy and the like", "black, navy"),
    ),
)

FABRIC_ATTRIBUTES: tuple[ChoiceList, ...] = (
    ChoiceList(
        column="fabric_stretch",
        label="Stretch",
        choices=(
            Choice("none", "No stretch", "woven without elastane", "no, stable"),
            Choice("low", "Low stretch", "gives a little, across only", "little"),
            Choice("mid", "Some stretch", "knits such as jersey and sweatshirting", "medium"),
            Choice("high", "High stretch", "elastane, ribs and fine knits"),
        ),
    ),
    ChoiceList(
        column="fabric_pile",
        label="Pile",
        choices=(
            Choice("none", "No pile", "smooth face", "no, smooth"),
            Choice("texture", "Textured", "cells, ribs or fuzz under 1 mm"),
            Choice(
                "pile",
                "Pile or loops",
                "fleece, terry or velvet, 1 mm and more",
                "loops, high",
            ),
        ),
    ),
    ChoiceList(
        column="fabric_sheerness",
        label="Sheerness",
        choices=(
            Choice("opaque", "Opaque", "a hand behind it is not seen"),
            Choice("semi", "Half sheer", "a hand behind it is guessed", "semi sheer"),
            Choice("sheer", "Sheer", "a hand behind it is seen", "see through"),
        ),
    ),
)

FABRICS: tuple[Fabric, ...] = (
    Fabric(
        name="pique_polo",
        label="Piqué polo",
        gsm_low=180,
        gsm_high=240,
        stretch="mid",
        pile="texture",
        sheerness="semi",
        usual_backing="light or medium cut-away, or sheer mesh with a crisp tear-away",
        usual_topping="water-soluble film",
        usual_needle="70/10 or 75/11 ball point",
        synonyms=("pique", "piqué", "polo", "polo shirt", "cotton polo", "golf shirt"),
    ),
    Fabric(
        name="performance_knit",
        label="Performance knit",
        gsm_low=110,
        gsm_high=160,
        stretch="high",
        pile="none",
        sheerness="semi",
        usual_backing="one or two sheer meshes or performance cut-aways, crisp tear-away outermost",
        usual_topping="water-soluble film for small text",
        usual_needle="70/10 ball point, 65/9 for tiny text",
        synonyms=("performance polo", "performance tee", "tech polo", "wicking polo"),
    ),
    Fabric(
        name="jersey",
        label="Jersey T-shirt",
        gsm_low=140,
        gsm_high=200,
        stretch="mid",
        pile="texture",
        sheerness="semi",
        usual_backing="cut-away, weight by stitch count",
        usual_topping="optional",
        usual_needle="70/10 ball point",
        synonyms=("t shirt", "tee", "tshirt", "cotton jersey", "single jersey"),
    ),
    Fabric(
        name="sweatshirt",
        label="Sweatshirt fleece",
        gsm_low=260,
        gsm_high=340,
        stretch="mid",
        pile="none",
        sheerness="opaque",
        usual_backing="medium cut-away",
        usual_topping="film for fine detail only",
        usual_needle="75/11 or 80/12 ball point",
        synonyms=("sweatshirts", "hoodie", "sweat", "sweatshirting"),
    ),
    Fabric(
        name="polar_fleece",
        label="Polar or sherpa fleece",
        gsm_low=200,
        gsm_high=400,
        stretch="mid",
        pile="pile",
        sheerness="opaque",
        usual_backing="cut-away; one or two tear-aways for light designs",
        usual_topping="water-soluble film",
        usual_needle="75/11 ball point",
        synonyms=("fleece", "sherpa", "sherpa fleece", "microfleece"),
    ),
    Fabric(
        name="terry_towel",
        label="Terry towel",
        gsm_low=350,
        gsm_high=600,
        stretch="low",
        pile="pile",
        sheerness="opaque",
        usual_backing="tear-away or wash-away; if dense, some use cut-away or mesh",
        usual_topping="water-soluble film",
        usual_needle="75/11 or 80/12",
        synonyms=("terry", "towel", "towelling", "toweling", "terrycloth"),
    ),
    Fabric(
        name="woven_shirt",
        label="Woven shirt",
        gsm_low=100,
        gsm_high=150,
        stretch="none",
        pile="none",
        sheerness="semi",
        usual_backing="one or two tear-aways",
        usual_topping="none",
        usual_needle="70/10 or 75/11 sharp",
        synonyms=("oxford", "poplin", "shirting", "dress shirt", "oxford shirt"),
    ),
    Fabric(
        name="twill_denim_canvas",
        label="Twill, denim or canvas",
        gsm_low=230,
        gsm_high=450,
        stretch="none",
        pile="none",
        sheerness="opaque",
        usual_backing="tear-away",
        usual_topping="none",
        usual_needle="75/11 or 80/12 sharp",
        synonyms=("twill", "denim", "canvas", "tote bag", "canvas bag"),
    ),
    Fabric(
        name="structured_cap",
        label="Structured cap",
        gsm_low=250,
        gsm_high=350,
        stretch="none",
        pile="none",
        sheerness="opaque",
        usual_backing="cap tear-away or none",
        usual_topping="none",
        usual_needle="75/11 or 80/12 sharp",
        synonyms=("cap", "caps", "buckram cap", "baseball cap", "trucker cap"),
    ),
    Fabric(
        name="unstructured_cap",
        label="Unstructured cap",
        gsm_low=200,
        gsm_high=350,
        stretch="low",
        pile="none",
        sheerness="opaque",
        usual_backing="one or two cap tear-aways, or cut-away",
        usual_topping="none",
        usual_needle="75/11 sharp",
        synonyms=("soft cap", "dad cap"),
    ),
    Fabric(
        name="beanie",
        label="Knitted beanie",
        gsm_low=200,
        gsm_high=350,
        stretch="high",
        pile="texture",
        sheerness="opaque",
        usual_backing="cut-away",
        usual_topping="water-soluble film",
        usual_needle="75/11 ball point",
        synonyms=("beanies", "knit cap", "knitted hat", "rib knit"),
    ),
    Fabric(
        name="shell_jacket",
        label="Nylon shell or satin jacket",
        gsm_low=60,
        gsm_high=130,
        stretch="none",
        pile="none",
        sheerness="semi",
        usual_backing="two tear-aways or a light cut-away; satin often cut-away",
        usual_topping="none",
        usual_needle="65/9 to 75/11 sharp",
        synonyms=("nylon", "nylon shell", "satin jacket", "windbreaker", "satin"),
    ),
    Fabric(
        name="softshell",
        label="Softshell",
        gsm_low=250,
        gsm_high=350,
        stretch="mid",
        pile="none",
        sheerness="opaque",
        usual_backing="cut-away or sheer mesh",
        usual_topping="none",
        usual_needle="75/11, ball point or sharp",
        synonyms=("soft shell", "softshell jacket", "bonded fleece"),
    ),
    Fabric(
        name="sheer_woven",
        label="Sheer woven, organza",
        gsm_low=30,
        gsm_high=90,
        stretch="none",
        pile="none",
        sheerness="sheer",
        usual_backing="wash-away on both sides, or heat-away",
        usual_topping="water-soluble film",
        usual_needle="60/8 or 65/9",
        synonyms=("organza", "voile", "chiffon"),
    ),
)


def fabric_understood(text: str) -> Fabric | None:
    """Read a written fabric as one of the classes known here.

    Parameters
    ----------
    text
        What somebody wrote; case, spaces and hyphens do not matter.

    Returns
    -------
    Fabric or None
        The class whose name, label or synonym was written; None where it is another cloth,
        which is no fault: the list is open.
    """
    wanted = normalise(text)
    for fabric in FABRICS:
        if wanted in (normalise(fabric.name), normalise(fabric.label), *fabric.synonyms):
            return fabric
    return None
