"""A page on paper: a button that prints what is also the file."""

from __future__ import annotations

import streamlit as st

from dashboards.css import component_file

_PRINT = st.components.v2.component(
    "print_the_page",
    html='<button type="button">Print</button>',
    css=component_file("print_page.css"),
    js=component_file("print_page.js"),
)


def print_button(page: str, *, key: str = "print-the-review") -> None:
    """Offer to print a page of ours, which is the same as the file.

    Parameters
    ----------
    page
        A whole HTML page without scripts.
    key
        Of the button.
    """
    _PRINT(data={"page": page}, key=key)
