"""Bringing a part of the page into sight; it draws nothing."""

from __future__ import annotations

import streamlit as st

from dashboards.css import component_file

_MESSAGE = st.components.v2.component("message_in_sight", js=component_file("scroll_to_message.js"))
_MENU = st.components.v2.component("menu_in_sight", js=component_file("scroll_menu.js"))


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
