"""What the pages' own fields leave out in the browser: words not entered, a line that is down.

Streamlit hears of a typed field when it is left, and drops a new name in a list that is left
without Enter. A small script enters what is typed as soon as the typing pauses, and hands over
the name that would be dropped. When a lost line is back it asks for the page anew, so that a
service started meanwhile takes up the run. It draws nothing.
"""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

PAUSE_MILLISECONDS = 700

JS = f"""
const PAUSE = {PAUSE_MILLISECONDS};
const TYPED = '.stNumberInput input, .stTextInput input, .stTextArea textarea';
const LIST = '.stSelectbox input[role=combobox]';
const enter = (field) => field.dispatchEvent(new KeyboardEvent('keydown', {{
  key: 'Enter', code: 'Enter', keyCode: 13, bubbles: true, cancelable: true,
  ctrlKey: field.tagName === 'TEXTAREA',
}}));

// Once for as long as the document lives: a part that is drawn anew in the middle of a word must
// not make it unheard. On other pages there is no such form, and nothing is entered.
function hearing() {{
  const shared = {{ tell: () => {{}} }};
  const pauses = new Map();
  const before = new WeakMap();
  const formIsHere = () => document.querySelector('.st-key-log') !== null;
  const heard = (event) => {{
    const field = event.target;
    if (!(field instanceof Element) || !field.matches(TYPED) || !formIsHere()) return;
    clearTimeout(pauses.get(field));
    const unfinished = field.inputMode === 'decimal' && /[.,]$/.test(field.value);
    const say = () => {{
      pauses.delete(field);
      if (formIsHere()) enter(field);
    }};
    if (!unfinished) pauses.set(field, setTimeout(say, PAUSE));
  }};
  const entered = (event) => {{
    const field = event.target;
    if (field instanceof Element && field.matches(LIST)) before.set(field, field.value);
  }};
  const left = (event) => {{
    const field = event.target;
    if (!(field instanceof Element) || !field.matches(LIST) || !formIsHere()) return;
    const words = field.value.trim();
    const stood = before.get(field) ?? '';
    if (!words || words === stood.trim()) return;
    setTimeout(() => {{
      const dropped = document.activeElement !== field && field.value === stood;
      if (dropped) shared.tell('left', [field.getAttribute('aria-label'), words, Date.now()]);
    }}, 250);
  }};
  [['input', heard], ['focusin', entered], ['focusout', left]].forEach(
    ([name, hear]) => document.addEventListener(name, hear, true),
  );
  return shared;
}}

export default function (component) {{
  const {{ setTriggerValue }} = component;
  const shared = (document.documentElement.whatIsTyped ??= hearing());
  shared.tell = setTriggerValue;
  const page = document.documentElement;
  const line = () => {{ page.dataset.line = navigator.onLine ? 'up' : 'down'; }};
  window.addEventListener('online', line);
  window.addEventListener('offline', line);
  line();
  // A service that was started anew knows nothing of this page until the page speaks to it.
  const app = document.querySelector('[data-testid=stApp]');
  let down = false;
  const watching = new MutationObserver(() => {{
    const up = app.dataset.testConnectionState === 'CONNECTED';
    if (up && down) setTriggerValue('back', Date.now());
    down = !up;
  }});
  if (app) watching.observe(app, {{ attributeFilter: ['data-test-connection-state'] }});
  return () => {{
    watching.disconnect();
    window.removeEventListener('online', line);
    window.removeEventListener('offline', line);
  }};
}}
"""

TOP_JS = """
let before = null;

export default function (component) {
  const { place } = component.data;
  if (before !== null && before !== place) {
    document.querySelector('[data-testid=stMain]')?.scrollTo(0, 0);
  }
  before = place;
}
"""

_HEARS = st.components.v2.component("what_is_typed", js=JS)
_BEGINS_AT_THE_TOP = st.components.v2.component("begins_at_the_top", js=TOP_JS)


def begin_at_the_top(place: str) -> None:
    """Show the page from its top whenever ``place`` is another one than before.

    The browser stays where it was: below the words that a held run is to be seen by.
    """
    _BEGINS_AT_THE_TOP(key="begins_at_the_top", data={"place": place})


def listen(left: Callable[[str, str], None]) -> None:
    """Hear what is typed on this page.

    Parameters
    ----------
    left
        Told the label of a list and the new name with which it was left.
    """

    def told() -> None:
        state = st.session_state.get("what_is_typed")
        words = None if state is None else state.get("left")
        if words is not None:
            left(str(words[0]), str(words[1]))

    _HEARS(key="what_is_typed", on_left_change=told, on_back_change=_nothing)


def _nothing() -> None:
    """Being asked is enough: the page is drawn anew."""
