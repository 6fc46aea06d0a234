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
