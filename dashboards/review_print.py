"""The review on paper: a button that prints the page that is also the file, and print styles."""

from __future__ import annotations

import streamlit as st

from logbook.charts.theme import LIGHT, Palette

CSS = """
button {
  width: 100%; min-height: 48px; cursor: pointer; font: inherit; font-size: 1rem;
  color: var(--st-text-color); background: transparent;
  border: 1px solid var(--st-border-color); border-radius: var(--st-button-radius);
}
button:hover { border-color: var(--st-primary-color); color: var(--st-primary-color); }
button:focus-visible { outline: 3px solid var(--st-primary-color); }
iframe { position: absolute; width: 0; height: 0; border: 0; visibility: hidden; }
"""

HTML = '<button type="button">Print</button>'

JS = """
export default function (component) {
  const { data, parentElement } = component;
  const button = parentElement.querySelector('button');
  button.onclick = () => {
    parentElement.querySelectorAll('iframe').forEach((each) => each.remove());
    const frame = document.createElement('iframe');
    frame.title = 'The review as it is printed';
    frame.srcdoc = data.page;
    frame.onload = () => {
      frame.contentWindow.focus();
      frame.contentWindow.print();
    };
    parentElement.appendChild(frame);
  };
}
"""

_PRINT = st.components.v2.component("print_the_review", html=HTML, css=CSS, js=JS)


def print_button(page: str) -> None:
    """Offer to print a page of ours, which is the same as the file.

    Parameters
    ----------
    page
        A whole HTML page without scripts.
    """
    _PRINT(data={"page": page}, key="print-the-review")


def dress() -> None:
    """Let the page as it stands print well too: unfolded, no menu, no fields, black on white."""
    names = " ".join(f"--{name}: {getattr(LIGHT, name)};" for name in Palette.__dataclass_fields__)
    st.html(f"<style>{RULES.replace('LIGHT_NAMES', names)}</style>")


RULES = """
.print-only { display: none; }
@media screen { [data-testid="stElementContainer"]:has(> .stHtml > .print-only) { display: none; } }
.print-only img { width: 100%; height: auto; }
.ways { display: flex; flex-wrap: wrap; gap: 0 1.2rem; }
.ways a { display: inline-flex; align-items: center; min-height: 48px; color: var(--thread); }
.stExpander summary p { font-size: 0.95rem; }
@media screen and (max-width: 640px) {
  [data-testid="stMainBlockContainer"] { padding-bottom: 3rem; }
  .ways { gap: 0 0.75rem; }
  .ways a { font-size: 0.92rem; }
  .st-key-screen-only-head [data-testid="stHorizontalBlock"] { flex-wrap: wrap; gap: 0.6rem; }
  .st-key-screen-only-head [data-testid="stColumn"] {
    min-width: 0 !important; flex: 1 1 calc(50% - 0.6rem) !important;
  }
  .st-key-screen-only-head [data-testid="stColumn"]:first-child { flex-basis: 100% !important; }
  .st-key-action-by-when [data-testid="stHorizontalBlock"] { flex-wrap: nowrap; gap: 0.6rem; }
  .st-key-action-by-when [data-testid="stColumn"] { min-width: 0 !important; }
}
.lines { border-bottom: 1px solid var(--quiet); height: 2rem; }
.runs-to-look-at { margin: 0; padding-left: 1.25rem; }
.runs-to-look-at li { margin: 0.4rem 0; }
.runs-to-look-at a { display: inline-block; padding: 0.3rem 0; font-weight: 650;
  color: var(--thread); }
.photos { display: flex; flex-wrap: wrap; gap: 0.5rem; align-items: end; margin: 0.3rem 0 0.6rem; }
.photos img { height: auto; max-height: 9rem; max-width: min(47%, 14rem);
  border: 1px solid var(--rule); border-radius: 4px; }
.photos span { color: var(--quiet); }
@media screen and (min-width: 641px), print {
  .st-key-review-table .table table { table-layout: fixed; }
  .st-key-review-table .table thead th { width: 16%; }
  .st-key-review-table .table thead th:first-child { width: 17%; }
  .st-key-review-table .table thead th:is(:nth-child(2), :nth-child(4)) { width: 14%; }
  .st-key-review-table .table thead th:nth-child(6) { width: 15%; }
  .st-key-review-table .table thead th:nth-child(7) { width: 8%; }
  .st-key-review-table .table tbody :is(th, td:nth-child(2)) { white-space: normal !important; }
}
@media screen and (max-width: 640px) {
  .st-key-review-table .table table { table-layout: fixed; }
  .st-key-review-table .table :is(th, td) { padding-right: 0.5rem; }
  .st-key-review-table .table .figures { white-space: normal; }
  .st-key-review-table .table :is(th, td):first-child { padding-right: 0.25rem; }
  .st-key-review-table .table :is(th, td):nth-child(6) { padding-right: 0; }
  .st-key-review-table .table thead th:first-child { width: 37%; }
  .st-key-review-table .table thead th:nth-child(3) { width: 36.5%; }
}
@media screen and (min-width: 641px) {
  .table tbody td:nth-child(6) { white-space: nowrap; }
}
@media screen and (min-width: 641px) and (max-width: 1100px) {
  .table table { font-size: 0.85rem; }
  .table :is(th, td) { padding-right: 0.6rem; }
  .table thead .figures, .table tbody td:nth-child(2) { white-space: normal; }
  .st-key-review-table .table tbody td:is(:nth-child(3), :nth-child(5), :nth-child(6)) {
    white-space: normal;
  }
}
@page { size: A4; margin: 14mm 13mm; }
@media print {
  :root { LIGHT_NAMES --paper: #ffffff; }
  header, .st-key-pages, [class*="st-key-screen-only"],
  [data-testid="stToolbar"], [data-testid="stStatusWidget"] { display: none !important; }
  .print-only { display: block; }
  html, body, #root, .stApp, .stApp > div, [data-testid="stAppViewContainer"],
  [data-testid="stMain"], [data-testid="stMainBlockContainer"] {
    position: static !important; overflow: visible !important; height: auto !important;
    min-height: 0 !important; max-width: none !important; padding: 0 !important;
    background: #ffffff !important; display: block !important;
  }
  .stApp, .stApp :is(p, li, h1, h2, h3, h4, h5, span, td, th, a, div) {
    color: #000000 !important; -webkit-print-color-adjust: exact; print-color-adjust: exact;
  }
  .stApp .table :is(td, th).alarm { color: var(--alarm) !important; }
  .stApp .table :is(td, th).relief { color: var(--relief) !important; }
  html { font-size: 12.5px !important; }
  h1, h2, h3, h4, h5 { break-after: avoid; }
  li, tr, [class*="st-key-chart-block"], .print-only, [data-testid="stAlert"] {
    break-inside: avoid;
  }
  .stExpander summary { display: none !important; }
  .stExpander, .stExpander :is(details, [data-testid="stExpanderDetails"]) {
    border: 0 !important; padding: 0 !important; margin: 0 !important;
    background: none !important; overflow: visible !important; height: auto !important;
  }
  .stExpander details::details-content {
    content-visibility: visible !important; display: block !important;
    block-size: auto !important; overflow: visible !important;
  }
  .table { overflow: visible; }
  .table table { font-size: 8.2pt; }
  .table :is(th, td) { padding: 0.18rem 0.7rem 0.18rem 0; }
  .table tbody :is(th, td):is(:first-child, :nth-child(6)) { white-space: nowrap; }
  .table thead th { white-space: normal !important; }
}
"""
