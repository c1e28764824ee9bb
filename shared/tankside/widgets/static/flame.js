// The burner's flame: one shape at each port, its size, colour and stand given by the flame's class in the style sheet.
import { setAttribute, svg } from "./dom.js";

const OUTER = "M0 0C-7 -9-5-20 0-30C5-20 7-9 0 0Z";
const INNER = "M0 0C-4 -5-3-10 0-15C3-10 4-5 0 0Z";
const PORTS = 7;

export function makeFlame(tube) {
  const node = svg("g", { class: "ts-flame", "data-kind": "none" });
  const from = tube.x1 + 26;
  const step = (tube.x2 - 12 - from) / (PORTS - 1);
  for (let i = 0; i < PORTS; i += 1) {
    const stand = svg("g", { transform: `translate(${from + i * step} ${tube.y - 9})` });
    stand.append(svg("g", { class: `ts-flamelet ts-flamelet-${i % 3}` }, svg("path", { class: "ts-flame-outer", d: OUTER }), svg("path", { class: "ts-flame-inner", d: INNER })));
    node.append(stand);
  }
  return {
    node,
    update(flame) {
      setAttribute(node, "data-kind", flame ? flame.kind.replaceAll(" ", "-") : "none");
    },
  };
}

export function makePilot(x, y) {
  const node = svg("g", { class: "ts-pilot", transform: `translate(${x} ${y}) scale(0.5)` });
  node.append(svg("path", { class: "ts-flame-outer", d: OUTER }), svg("path", { class: "ts-flame-inner", d: INNER }));
  return node;
}

// What the picture says of the flame, in words.
export function flameWords(flame) {
  if (!flame) return "";
  const words = [flame.kind === "none" ? "no main flame" : `main flame: ${flame.kind}`];
  if (flame.pilot !== null) words.push(flame.pilot ? "pilot burns" : "pilot is out");
  if (flame.spark) words.push("spark");
  return words.join(", ");
}
