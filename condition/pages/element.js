// One element with its properties, ARIA attributes and children; what is null among the children is left out.

function make(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(properties)) {
    if (key in element && !key.startsWith("aria")) element[key] = value;
    else element.setAttribute(key, value);
  }
  element.append(...children.filter((child) => child != null));
  return element;
}
