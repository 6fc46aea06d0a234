let before = null;

export default function (component) {
  const { place } = component.data;
  if (before !== null && before !== place) {
    document.querySelector('[data-testid=stMain]')?.scrollTo(0, 0);
  }
  before = place;
}
