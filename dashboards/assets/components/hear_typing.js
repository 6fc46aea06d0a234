const PAUSE = 700;
const TYPED = '.stNumberInput input, .stTextInput input, .stTextArea textarea';
const LIST = '.stSelectbox input[role=combobox]';
const enter = (field) => field.dispatchEvent(new KeyboardEvent('keydown', {
  key: 'Enter', code: 'Enter', keyCode: 13, bubbles: true, cancelable: true,
  ctrlKey: field.tagName === 'TEXTAREA',
}));

// Once for as long as the document lives: a part that is drawn anew in the middle of a word must
// not make it unheard. On other pages there is no such form, and nothing is entered.
function hearing() {
  const shared = { tell: () => {} };
  const pauses = new Map();
  const before = new WeakMap();
  const formIsHere = () => document.querySelector('.st-key-log') !== null;
  const heard = (event) => {
    const field = event.target;
    if (!(field instanceof Element) || !field.matches(TYPED) || !formIsHere()) return;
    clearTimeout(pauses.get(field));
    const unfinished = field.inputMode === 'decimal' && /[.,]$/.test(field.value);
    const say = () => {
      pauses.delete(field);
      if (formIsHere()) enter(field);
    };
    if (!unfinished) pauses.set(field, setTimeout(say, PAUSE));
  };
  const entered = (event) => {
    const field = event.target;
    if (field instanceof Element && field.matches(LIST)) before.set(field, field.value);
  };
  const left = (event) => {
    const field = event.target;
    if (!(field instanceof Element) || !field.matches(LIST) || !formIsHere()) return;
    const words = field.value.trim();
    const stood = before.get(field) ?? '';
    if (!words || words === stood.trim()) return;
    setTimeout(() => {
      const dropped = document.activeElement !== field && field.value === stood;
      if (dropped) shared.tell('left', [field.getAttribute('aria-label'), words, Date.now()]);
    }, 250);
  };
  [['input', heard], ['focusin', entered], ['focusout', left]].forEach(
    ([name, hear]) => document.addEventListener(name, hear, true),
  );
  return shared;
}

export default function (component) {
  const { setTriggerValue } = component;
  const shared = (document.documentElement.whatIsTyped ??= hearing());
  shared.tell = setTriggerValue;
  const page = document.documentElement;
  const line = () => { page.dataset.line = navigator.onLine ? 'up' : 'down'; };
  window.addEventListener('online', line);
  window.addEventListener('offline', line);
  line();
  // A service that was started anew knows nothing of this page until the page speaks to it.
  const app = document.querySelector('[data-testid=stApp]');
  let down = false;
  const watching = new MutationObserver(() => {
    const up = app.dataset.testConnectionState === 'CONNECTED';
    if (up && down) setTriggerValue('back', Date.now());
    down = !up;
  });
  if (app) watching.observe(app, { attributeFilter: ['data-test-connection-state'] });
  return () => {
    watching.disconnect();
    window.removeEventListener('online', line);
    window.removeEventListener('offline', line);
  };
}
