const SVG = 'http://www.w3.org/2000/svg';

export default function (component) {
  const { data, parentElement, setTriggerValue } = component;
  let frame = parentElement.querySelector('.frame');
  if (!frame) {
    frame = document.createElement('div');
    frame.className = 'frame';
    parentElement.appendChild(frame);
  }
  if (frame.dataset.drawing !== data.drawing) {
    frame.innerHTML = data.drawing;
    frame.dataset.drawing = data.drawing;
  }
  const svg = frame.querySelector('svg');
  svg.querySelectorAll('.mark').forEach((each) => each.remove());
  const draw = (x, y) => {
    for (const name of ['mark halo', 'mark']) {
      const ring = document.createElementNS(SVG, 'circle');
      ring.setAttribute('cx', x);
      ring.setAttribute('cy', y);
      ring.setAttribute('r', data.radius);
      ring.setAttribute('class', name);
      svg.appendChild(ring);
    }
  };
  data.marks.forEach(([x, y]) => draw(x, y));
  svg.onclick = (event) => {
    const place = svg.createSVGPoint();
    place.x = event.clientX;
    place.y = event.clientY;
    const { x, y } = place.matrixTransform(svg.getScreenCTM().inverse());
    draw(x, y);
    setTriggerValue('tapped', [x, y, Date.now()]);
  };
}
