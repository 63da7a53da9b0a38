// Small helpers to build what a page shows. Text only ever becomes text: nothing is parsed as HTML.
const SVG = 'http://www.w3.org/2000/svg';

function put(element, name, value) {
  if (value === undefined || value === null || value === false) return;
  if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
  else if (name === 'class') element.setAttribute('class', value);
  else element.setAttribute(name, value === true ? '' : String(value));
}

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) put(element, name, value);
  element.append(...children.flat(3).filter((c) => c !== null && c !== undefined && c !== false));
  return element;
}

// An HTML element: el('p', {class: 'x', onclick: f}, 'text', child, [children]).
export const el = (tag, attributes, ...children) =>
  fill(document.createElement(tag), attributes, children);

// The same for a drawing.
export const svg = (tag, attributes, ...children) =>
  fill(document.createElementNS(SVG, tag), attributes, children);

// Replaces what an element holds, and keeps the keyboard's focus on what has the same `data-key`.
export function replace(element, ...children) {
  const focused = element.contains(document.activeElement) ? document.activeElement : null;
  const key = focused?.dataset?.key;
  element.replaceChildren(...children.flat(3).filter(Boolean));
  if (key) element.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
}
