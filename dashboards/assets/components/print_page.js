export default function (component) {
  const { data, parentElement } = component;
  const button = parentElement.querySelector('button');
  button.onclick = () => {
    parentElement.querySelectorAll('iframe').forEach((each) => each.remove());
    const frame = document.createElement('iframe');
    frame.title = 'The page as it is printed';
    frame.srcdoc = data.page;
    frame.onload = () => {
      frame.contentWindow.focus();
      frame.contentWindow.print();
    };
    parentElement.appendChild(frame);
  };
}
