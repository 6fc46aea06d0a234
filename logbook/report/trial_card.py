"""The card of a trial for the machine: what to sew in which order, with the way to the form."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlencode

from markupsafe import Markup

from logbook.assets import page_template
from logbook.atomic_files import atomic_write
from logbook.charts.theme import LIGHT
from logbook.questions.trials.plan_words import cautions, instructions, loads
from logbook.runs.trials import ARMS, KeptTrial
from logbook.shop import Shop

FORM = "log"
"""Where the form stands below the address of the service."""


def card_page(kept: KeptTrial, *, shop: Shop, address: str | None) -> str:
    """Write the card as one HTML page for A4; every text of users is escaped.

    Parameters
    ----------
    kept
        The trial.
    shop
        Whose it is.
    address
        Where the service answers, such as ``http://192.168.1.20:8600``; None leaves the QR code
        out and says why.
    """
    trial = kept.trial
    form = None if address is None else form_address(kept.ref, address)
    return page_template("trial_card").render(
        ref=kept.ref,
        trial=trial,
        shop=shop,
        colours=LIGHT,
        arms=[trial.arm_words(arm) for arm in ARMS],
        steps=instructions(trial),
        pairs=[loads(trial)[place : place + 2] for place in range(0, 2 * trial.pairs, 2)],
        cautions=cautions(trial),
        form=form,
        code=None if form is None else Markup(qr_code(form)),
    )


def form_address(ref: str, address: str) -> str:
    """Where the form opens in a trial."""
    return f"{address.rstrip('/')}/{FORM}?{urlencode({'trial': ref})}"


def qr_code(text: str) -> str:
    """A QR code (ISO/IEC 18004) as SVG to stand in a page."""
    import segno  # late: only cards need it

    drawn: str = segno.make(text, error="m").svg_inline(border=4, omitsize=True, title=text)
    return drawn


def write_card(path: Path, kept: KeptTrial, *, shop: Shop, address: str | None) -> None:
    """Write the card to a file, as a whole or not at all.

    Raises
    ------
    IntakeError
        The file cannot be written.
    """
    with atomic_write(path) as part:
        part.write_text(card_page(kept, shop=shop, address=address), encoding="utf-8")
