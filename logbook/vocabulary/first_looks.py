"""What to look at first where something departs from the usual: common practice."""

from __future__ import annotations

from collections.abc import Mapping

FIRST_LOOKS: Mapping[str, str] = {
    "machine": "Sew one job on another machine too: if only this one shows it, look at its needle, "
    "thread path, tension, hoops and hook, with the machine stopped.",
    "backing_lot": "Put the lot aside, sew the same job on another lot, and compare. Keep a sheet "
    "of it for the supplier.",
    "backing_supplier": "Sew the same job on another supplier's backing, and compare. Look at "
    "which lots it was.",
    "backing": "Look at which lots and suppliers it was, and sew the same job on another backing.",
    "fabric": "Look at the delivery: stretch, weight, finish and how it was stored. Sew the design "
    "on cloth of an earlier delivery, and compare.",
    "fabric_lot": "Put the delivery aside, sew the same job on another, and compare.",
    "design": "Sew it once on scrap, look where on it the defect shows, and ask the digitizer.",
    "operator": "Look on together, without blame: hooping, threading and trimming, on one job side "
    "by side with somebody else.",
    "customer": "Look at what this customer's orders have in common: goods, designs, inspection.",
    "shift": "Look at what differs: light, staff, machines, how pieces are inspected.",
    "site": "Compare setups with another site that sews such jobs.",
    "thread": "Try a cone of another batch on the same job, and compare.",
}
"""Column → where the trade looks first."""
ANYWHERE = "Look at the runs that show most of it, and at what they have in common."
EVERYWHERE = (
    "It touches the whole shop: look at what all share, such as thread, air, light, goods, and how "
    "pieces are inspected."
)
BETTER = (
    "See what was done differently, and keep it. A fair trial would say how much of it is owed to "
    "that."
)
AT_THE_MACHINE = frozenset({"machine"})
"""Columns whose first look is at a machine: its caution stands beside it."""
