"""Cautions: said wherever the work can hurt somebody, before any advice is."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: its slug, when it is to be shown, and the words."""

    name: str
    when: str
    says: str


BROKEN_NEEDLE_HELD = (
    "This run is held: a needle broke and not every part of it is recorded as found. Keep the "
    "pieces, their neighbours and the hoop where they are, tell the manager, and search them and "
    "the machine with the machine stopped. Release nothing until every part is accounted for; "
    "children's and infants' wear goes through metal detection as the buyer and local law require. "
    "Then amend the run to say that the parts were found."
)

CAUTIONS: tuple[Caution, ...] = (
    Caution(
        name="moving_needles",
        when="threading, changing needles, clearing nests, trimming at the machine",
        says="Keep hands, hair, lanyards and sleeves out of the sewing field, and stop the machine "
        "before threading, trimming, clearing a nest or changing a needle. Isolate the power for "
        "work under the needle plate; wear eye protection where needles may break. Keep guards "
        "and emergency stop in working order, and follow the maker's instructions and local "
        "codes.",
    ),
    Caution(
        name="broken_needle",
        when="a needle has broken",
        says="Stop the machine and find every part of the needle before any piece goes on. Tape "
        "the parts to the needle log with date, machine and operator, and change old for new one "
        "for one. If a part is missing, hold the piece and its neighbours, search garment, hoop "
        "and area, and tell the manager. Children's and infants' wear needs metal detection "
        "before packing, as the buyer and local law require.",
    ),
    Caution(
        name="heat",
        when="pressing, fusing, steaming, clearing heat-away film",
        says="Irons and presses burn, pinch and give off fumes. Take the temperature from the "
        "maker of the backing, film or press, try scrap first, mind cloth and thread that soften "
        "or melt, and never leave a press closed or unattended.",
    ),
    Caution(
        name="spray_adhesive",
        when="spraying adhesive",
        says="Many spray adhesives are flammable and give off solvent. Read the safety data "
        "sheet, spray in a ventilated place away from machines, irons and anything that can "
        "ignite it, and prefer a fusible or ready-coated backing where one will do.",
    ),
    Caution(
        name="magnetic_frames",
        when="using magnetic frames",
        says="Magnetic frames snap shut and pinch fingers. Keep them away from pacemakers and "
        "other implants, and from bank cards, and follow the maker's instructions.",
    ),
    Caution(
        name="skin_and_infants",
        when="infants' wear, children's nightwear, goods worn next to skin",
        says="Cover a scratchy back. The whole make-up counts, backing, bobbin and topping "
        "included, towards limits on chemicals, flammability and small parts: check each batch "
        "against the customer's specification and the law of the market.",
    ),
    Caution(
        name="no_safety_certificate",
        when="always",
        says="This log is a record and its suggestions are advice to a trained person. It is no "
        "safety certificate: the customer's specification, the makers' instructions and the law "
        "come first.",
    ),
)


def cautions_named(*names: str) -> tuple[Caution, ...]:
    """The cautions of those names, in their order."""
    named = {caution.name: caution for caution in CAUTIONS}
    return tuple(named[name] for name in names)
