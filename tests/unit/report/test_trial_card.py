"""The card of a trial: arms, drawn order, cautions, and the way to the form."""

from __future__ import annotations

from trial_shop import film_trial

from logbook.report.trial_card import card_page, form_address, qr_code
from logbook.runs.trials import KeptTrial
from logbook.shop import Shop

KEPT = KeptTrial("T1", 1, film_trial(scope={"fabric": "<b>towel</b>"}))


def test_the_card_says_what_to_sew_in_the_drawn_order() -> None:
    page = card_page(KEPT, shop=Shop(), address="http://10.0.0.5:8600/")
    assert "Changed (Topping: Water-soluble film)" in page
    order = [each.split("</span>")[0] for each in page.split("☐ ")[1:]]
    assert len(order) == 24
    assert order[::2] == list(KEPT.trial.first)
    assert "Caution." in page
    assert "http://10.0.0.5:8600/log?trial=T1" in page
    assert "<svg" in page
    assert "<b>towel" not in page


def test_without_an_address_no_code_leads_nowhere() -> None:
    page = card_page(KEPT, shop=Shop(), address=None)
    assert "<svg" not in page
    assert "page Trials" in page


def test_the_code_holds_the_address() -> None:
    import segno

    address = form_address("T 1", "http://shop")
    assert address == "http://shop/log?trial=T+1"
    width, height = segno.make(address, error="m").symbol_size(border=4)
    # It is drawn at any size: with one of its own, a narrower box would cut it off.
    assert f'viewBox="0 0 {width} {height}"' in qr_code(address)
    assert "height=" not in qr_code(address).split(">")[0]
