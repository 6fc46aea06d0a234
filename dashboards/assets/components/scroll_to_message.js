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
