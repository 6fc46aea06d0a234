"""The look of the pages: our colours, sizes that a thumb can hit, and a line of stitches."""

from __future__ import annotations

from html import escape

import streamlit as st

from logbook.charts.theme import DARK, FONT, LIGHT, Palette

TOUCH_PIXELS = 48
"""Least height and width of anything that is tapped."""


def wear() -> None:
    """Dress the page; once in every run of a page."""
    st.html(f"<style>{style()}</style>")


def style() -> str:
    """Return the style sheet, light and dark."""
    return (
        f":root {{ {_names(LIGHT)} }}\n"
        f"@media (prefers-color-scheme: dark) {{ :root {{ {_names(DARK)} }} }}\n{RULES}"
    )


def heading(title: str) -> None:
    """Write the heading of a page; the style sheet sews a line of stitches under it."""
    st.html(f'<div class="page-heading"><h1>{escape(title)}</h1></div>')


def _names(palette: Palette) -> str:
    return " ".join(f"--{name}: {getattr(palette, name)};" for name in Palette.__dataclass_fields__)


RULES = f"""
.page-heading h1 {{ padding: 0; margin: 0; font-size: 1.5rem; line-height: 1.2; }}
.page-heading::after {{
  content: ""; display: block; width: 8.25rem; height: 3px; margin-top: 0.4rem;
  background: repeating-linear-gradient(90deg, var(--thread) 0 12px, transparent 12px 18px);
}}

/* The pages, side by side in as many lines as it takes; on a phone one line that is pushed along
   until the present page is seen (in_sight.py). */
.st-key-pages {{ border-bottom: 1px solid var(--rule); gap: 0 0.25rem; flex-wrap: wrap; }}
@media (max-width: 640px) {{
  .st-key-pages {{
    flex-wrap: nowrap; overflow-x: auto; scrollbar-width: none;
    mask-image: linear-gradient(to right, black calc(100% - 2.5rem), transparent);
  }}
  .st-key-pages::after {{ content: ""; flex: 0 0 2rem; }}
}}
.st-key-pages a {{ min-height: {TOUCH_PIXELS}px; align-items: center; white-space: nowrap; }}
.st-key-pages a.signed-in {{ display: flex; padding: 0 0.5rem; color: var(--quiet); }}
.st-key-here a p {{ font-weight: 700; color: var(--thread); }}

/* Everything that is tapped is large enough for a thumb, and is read without zooming. */
.stButton button, .stFormSubmitButton button, .stDownloadButton button,
.stButtonGroup button, .stExpander summary, .stFileUploader button {{
  min-height: {TOUCH_PIXELS}px;
}}
.stButtonGroup button p {{ font-size: 1rem; }}
.stNumberInput input, .stTextInput input, .stTextArea textarea, .stSelectbox input {{
  font-size: 1rem;
}}
.stNumberInput [data-testid="stNumberInputContainer"], .stTextInput input,
.stSelectbox [data-testid="stSelectboxControl"], .stSelectbox [role="group"] {{
  min-height: {TOUCH_PIXELS}px; align-items: center;
}}
.stNumberInput [data-testid="stNumberInputContainer"] > div {{ align-items: center; }}
.stDateInput [data-testid="stDateInputField"] {{ min-height: {TOUCH_PIXELS}px; }}
.stDateInput [data-testid="stDateInputField"] :is([role="group"], span) {{ font-size: 1rem; }}
.stDateInput [data-testid="stDateInputCalendarButton"] {{
  min-width: {TOUCH_PIXELS}px; height: {TOUCH_PIXELS - 2}px;
  display: flex; align-items: center; justify-content: center;
}}
.stNumberInput button {{
  min-width: {TOUCH_PIXELS}px; height: {TOUCH_PIXELS}px;
  display: flex; align-items: center; justify-content: center;
}}
.stNumberInput button svg {{ width: 0.9rem; height: 0.9rem; }}
.stRadio [role="radiogroup"] label {{ min-height: {TOUCH_PIXELS}px; align-items: center; }}
.stTooltipIcon button {{ min-width: 28px; min-height: 28px; }}

/* Captions are quiet by their colour, never by transparency: they must be read as well. */
[data-testid="stCaptionContainer"] {{ opacity: 1; color: var(--quiet); }}

/* The one thing to do. */
.stButton button[kind="primary"], .stButton button[data-testid="stBaseButton-primary"] {{
  color: var(--paper);
}}
.st-key-log button {{ min-height: 64px; }}
.st-key-log button p {{ font-size: 1.2rem; font-weight: 650; }}

/* Under each figure, a plain button that saves it as a picture; under tables one like it. */
[class*="st-key-csv-"] button, .stPlotlyChart .modebar-btn {{
  height: {TOUCH_PIXELS}px !important; padding: 0 1rem !important; border-radius: 0.5rem;
  border: 1px solid var(--rule) !important; background: var(--paper) !important;
  color: var(--ink); font-size: 1rem; font-family: {FONT} !important;
}}
[class*="st-key-csv-"] button p {{ font-size: 1rem; }}
:is([class*="st-key-csv-"] button, .stPlotlyChart .modebar-btn):is(:hover, :focus-visible) {{
  border-color: var(--thread) !important;
}}
[data-testid="stElementContainer"]:has(.stPlotlyChart) {{
  margin-bottom: {TOUCH_PIXELS + 8}px; overflow: visible !important;
}}
.stPlotlyChart .js-plotly-plot {{ overflow: visible !important; }}
.stPlotlyChart .modebar-container {{
  top: auto !important; bottom: -{TOUCH_PIXELS + 8}px; height: auto !important;
}}
.stPlotlyChart .modebar {{
  position: static !important; opacity: 1 !important; padding: 0; background: none !important;
}}
.stPlotlyChart .modebar-group {{
  padding: 0 !important; float: none; background: none !important;
}}
.stPlotlyChart .modebar-btn {{
  display: inline-flex !important; align-items: center;
}}
.stPlotlyChart .modebar-btn svg {{ display: none; }}
.stPlotlyChart .modebar-btn::before {{
  content: "Download this chart" !important; position: static !important; opacity: 1 !important;
  display: block !important; border: 0 !important; background: none !important; transform: none;
  margin: 0 !important; padding: 0 !important; font: inherit !important; line-height: 1 !important;
}}
.stPlotlyChart .modebar-btn::after {{ display: none !important; }}

/* A setup in words, tacked down at its edge like a label. */
.setup-card {{
  background: var(--card); color: var(--ink); border: 1px solid var(--rule);
  border-left: 4px dashed var(--thread); border-radius: 0.6rem; padding: 0.5rem 0.8rem;
}}
.setup-card p {{ margin: 0; line-height: 1.4; font-size: 0.95rem; text-wrap: pretty; }}
.setup-card .work {{ font-weight: 650; }}

/* Measures are typed, never stepped: the room goes to the figure. */
:is([class*="st-key-fields_"], .st-key-inspected)
  :is([data-testid="stNumberInputStepDown"], [data-testid="stNumberInputStepUp"]) {{
  display: none;
}}
[class*="st-key-fields_"] > div {{ flex: 1 1 9.5rem; min-width: 9.5rem; }}
[class*="st-key-fields_"] > div:has(.stSelectbox) {{ flex-basis: 13rem; min-width: 13rem; }}
.st-key-pieces {{ flex-wrap: nowrap; gap: 0.75rem; }}
.st-key-pieces > div:has(.st-key-sewn) {{ flex: 3 1 0; min-width: 0; }}
.st-key-pieces > div:has(.st-key-inspected) {{ flex: 2 1 0; min-width: 0; }}
.st-key-pieces .stNumberInput input {{ font-size: 1.25rem; font-weight: 650; }}
.st-key-sewn .stNumberInput input {{ font-size: 1.75rem; text-align: center; }}
.st-key-sewn [data-testid="stNumberInputContainer"], .st-key-sewn .stNumberInput button,
.st-key-inspected [data-testid="stNumberInputContainer"] {{ height: 56px; min-height: 56px; }}
.st-key-sewn .stNumberInput button {{ min-width: 56px; }}
.st-key-sewn [data-testid="stNumberInputClearButton"] {{ display: none; }}
.st-key-pieces .stNumberInput input::placeholder {{ font-size: 1rem; font-weight: 400; }}

/* Photos that wait for the run: each a line of picture, words and a way to take it away. */
.st-key-photos_held .stHorizontalBlock {{ flex-wrap: nowrap; gap: 0.75rem; }}
.st-key-photos_held img {{ width: 72px; height: 72px; object-fit: cover; }}
.st-key-photos_held .stButton button {{ white-space: nowrap; }}

/* What logs the run stays at hand however long the form is. */
.stVerticalBlock > :has(> .st-key-log), .st-key-log:not(:has(.st-key-log)) {{
  position: sticky; bottom: 0; z-index: 5; background: var(--paper);
  padding: 0.35rem 0; margin: -0.35rem 0; pointer-events: none;
}}
.st-key-log button {{ pointer-events: auto; }}
[data-testid="stMain"]:has(.st-key-log) {{ scroll-padding-bottom: 6rem; }}

/* Parts that only listen take no room. */
.st-key-what_is_typed, .st-key-begins_at_the_top, .st-key-menu_in_sight,
.st-key-message_in_sight {{ position: absolute; }}

/* Rules of thumb, quiet: one line each that opens. */
.rules details {{ color: var(--quiet); font-size: 0.9rem; }}
.rules summary {{
  min-height: 44px; line-height: 44px; cursor: pointer;
  overflow: hidden; text-overflow: ellipsis; white-space: nowrap;
}}
.rules details details {{ margin-left: 1rem; }}
.rules details[open] > summary {{ color: var(--ink); white-space: normal; line-height: 1.4; }}
.rules details[open] > summary {{ padding: 0.6rem 0; }}
.rules p {{ margin: 0 0 0.5rem; font-size: 0.9rem; color: var(--ink); }}
.rules .source {{ color: var(--quiet); }}

/* The line to the service is down: nothing can be sent, and nothing typed is lost. */
:is(html[data-line="down"], html:has([data-test-connection-state="DISCONNECTED_FOREVER"]),
  html:has([data-test-connection-state="PINGING_SERVER"]),
  html:has([data-test-connection-state="CONNECTING"])) body:has(.st-key-log)::before {{
  content: "Connection lost. Your run is kept on this page: log it when the line is back.";
  position: fixed; left: 0; right: 0; bottom: 0; z-index: 1000000; padding: 0.8rem 1rem;
  background: var(--alarm); color: var(--paper); font-weight: 650; text-align: center;
}}

/* Counting: the name to the left, the count and its minus and plus to the right. */
[class*="st-key-steppers_"] {{ gap: 0.4rem; }}
[class*="st-key-steppers_"] .stNumberInput {{
  display: flex; flex-direction: row; align-items: center; justify-content: space-between;
  gap: 0.5rem; border-bottom: 1px solid var(--rule); padding-bottom: 0.4rem;
}}
[class*="st-key-steppers_"] .stNumberInput label {{ flex: 1 1 auto; margin: 0; }}
[class*="st-key-steppers_"] .stNumberInput label p {{ font-size: 1rem; }}
[class*="st-key-steppers_"] .stNumberInput > div {{ flex: 0 0 10.5rem; width: 10.5rem; }}
[class*="st-key-steppers_"] .stNumberInput input {{ text-align: center; font-weight: 650; }}
"""
