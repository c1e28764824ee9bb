// Small helpers to make and to patch elements. Patching keeps the focus where it is.

const SVG = "http://www.w3.org/2000/svg";

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) setAttribute(node, name, value);
  for (const child of children.flat()) if (child !== null && child !== undefined) node.append(child);
  return node;
}

export function setAttribute(node, name, value) {
  if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
  else if (name === "text") setText(node, value);
  else if (value === false || value === null || value === undefined) node.removeAttribute(name);
  else if (node.getAttribute(name) !== String(value === true ? "" : value)) node.setAttribute(name, value === true ? "" : value);
}

export function setText(node, text) {
  const wanted = text === null || text === undefined ? "" : String(text);
  if (node.textContent !== wanted) node.textContent = wanted;
}

export function el(tag, attributes, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

export function svg(tag, attributes, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

// Make parent's children be one node for each item, reusing the nodes of items seen before.
export function keyed(parent, items, keyOf, make, patch) {
  const old = parent.keyedNodes || new Map();
  const now = new Map();
  let before = null;
  for (const item of items) {
    const key = keyOf(item);
    const node = old.get(key) || make(item);
    now.set(key, node);
    if (patch) patch(node, item);
    const place = before ? before.nextSibling : parent.firstChild;
    if (place !== node) parent.insertBefore(node, place);
    before = node;
  }
  for (const [key, node] of old) if (!now.has(key)) node.remove();
  parent.keyedNodes = now;
}

// A button that can be disabled and still say why: it keeps its place in the tab order.
export function button(attributes, ...children) {
  return el("button", { type: "button", ...attributes }, ...children);
}

export function setReason(node, why) {
  setAttribute(node, "aria-disabled", why ? "true" : null);
  setAttribute(node, "title", why || null);
  let note = node.querySelector(".ts-why");
  if (why && !note) note = node.appendChild(el("span", { class: "ts-hidden ts-why" }));
  if (note) setText(note, why ? ` Not now: ${why}` : "");
}

export function minutesText(minutes) {
  if (minutes === undefined || minutes === null) return "";
  const rounded = Math.round(minutes * 10) / 10;
  return `${rounded} min`;
}

let serial = 0;
export function freshId(stem) {
  serial += 1;
  return `ts-${stem}-${serial}-${Math.random().toString(36).slice(2, 7)}`;
}
