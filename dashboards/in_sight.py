"""Bringing a part of the page into sight; it draws nothing."""

from __future__ import annotations

import streamlit as st

MESSAGE_JS = """
let last = null;

export default function (component) {
  const { selector, moment } = component.data;
  if (moment === last) return;
  last = moment;
  // Once now and once when the page has taken its new length; a thumb that scrolls is left alone.
  let moved = false;
  const main = document.querySelector('[data-testid=stMain]');
  const leave = () => { moved = true; };
  const show = () => {
    const part = document.querySelector(selector);
    if (moved || !part) return;
    // Clear of what lies over the page's edges.
    part.style.scrollMargin = '5rem';
    part.scrollIntoView({ block: 'nearest' });
  };
  ['touchmove', 'wheel'].forEach((name) => main?.addEventListener(name, leave, { once: true }));
  requestAnimationFrame(show);
  setTimeout(show, 400);
}
"""

MENU_JS = """
let last = null;

export default function (component) {
  const { here } = component.data;
  if (here === last) return;
  last = here;
  // Several times while the page is being drawn, since links that come later move those before
  // them; a thumb that pushes the line is left alone.
  let touched = false;
  const show = () => {
    const menu = document.querySelector('.st-key-pages');
    const link = document.querySelector('.st-key-here');
    if (touched || last !== here || !menu || !link) return;
    const leave = () => { touched = true; };
    ['touchmove', 'wheel'].forEach((name) => menu.addEventListener(name, leave, { once: true }));
    const [line, place] = [menu.getBoundingClientRect(), link.getBoundingClientRect()];
    menu.scrollLeft += place.left + place.width / 2 - line.left - line.width / 2;
  };
  [0, 100, 300, 1000].forEach((pause) => setTimeout(show, pause));
}
"""

_MESSAGE = st.components.v2.component("message_in_sight", js=MESSAGE_JS)
_MENU = st.components.v2.component("menu_in_sight", js=MENU_JS)


def bring_into_sight(selector: str, *, moment: int) -> None:
    """Scroll the page so far that a part of it is seen, once for each ``moment``.

    Parameters
    ----------
    selector
        CSS of the part.
    moment
        Another number whenever it is to be seen anew.
    """
    _MESSAGE(key="message_in_sight", data={"selector": selector, "moment": moment})


def show_place_in_menu(here: str) -> None:
    """Push the line of pages along until the present one is seen; their order stays.

    Parameters
    ----------
    here
        The present page's address.
    """
    _MENU(key="menu_in_sight", data={"here": here})
