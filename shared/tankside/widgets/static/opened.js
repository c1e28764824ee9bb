// What a close look opens up: the flue's way (soot, what stops it, its baffle, leaves on the grille) and the burner's tube
// (web or nest, rusted ports, askew). Each in the few steps that eyes tell apart; nothing is drawn before somebody looked.
import { setAttribute, svg } from "./dom.js";

export function makeFlueCut({ duct, bay, jacket }) {
  const [x, w, top, foot] = [duct.x, duct.w, jacket.y + 8, bay.y - 4];
  const node = svg("g", { class: "ts-cut-flue" }, svg("rect", { class: "ts-cut", x, y: top, width: w, height: foot - top, rx: 3 }));
  const zigzag = Array.from({ length: Math.floor((foot - top - 84) / 15) }, (_, i) => `${i ? "L" : "M"}${x + w * (i % 2 ? 0.7 : 0.3)} ${top + 74 + i * 15}`);
  node.append(svg("path", { class: "ts-baffle", d: zigzag.join("") }));
  for (const [name, depth] of [["ts-soot-film", 3], ["ts-soot-flakes", 9]]) {
    const walls = [[x + 1, 1], [x + w - 1, -1]].map(([wall, side]) => ragged(wall, side * depth, top + 2, foot - 2));
    node.append(svg("path", { class: `ts-soot ${name}`, d: walls.join("") }));
  }
  node.append(svg("path", { class: "ts-nest ts-way-half", d: tangle(x + 1, top + 22, w * 0.5, 40) }), svg("path", { class: "ts-nest ts-way-shut", d: tangle(x + 1, top + 18, w * 0.9, 48) }));
  return node;
}

// Slots through which the burner draws its air, and what lies on them.
export function makeGrille({ bay, jacket }) {
  const [x, y] = [bay.x + bay.w - 76, bay.y + bay.h + 3];
  const slots = Array.from({ length: 8 }, (_, i) => `M${x + i * 9} ${y}v8`).join("");
  const leaf = (i) => `M${x - 5 + i * 9} ${y + 4}q8-9 16 0q-8 9-16 0z`;
  return svg("g", { class: "ts-grille", transform: `translate(0 ${jacket.y + jacket.h - y - 12})` }, svg("path", { class: "ts-slots", d: slots }),
    svg("path", { class: "ts-leaves ts-leaves-half", d: [0, 1.6, 3.2].map(leaf).join("") }), svg("path", { class: "ts-leaves ts-leaves-all", d: [0, 1.6, 3.2, 4.8, 6.4].map(leaf).join("") }));
}

// Black on the ceiling of the chamber, where a sooting flame has licked it.
export function makeChamberSoot({ bay }) {
  return svg("path", { class: "ts-soot ts-soot-flakes ts-soot-roof", d: across(bay.x + 8, bay.x + bay.w - 8, bay.y + 1, 6) });
}

export function makeTubeCut({ tube }, ports) {
  const [x, y, w, h] = [tube.x1 + 20, tube.y - 7, 44, 14];
  const node = svg("g", { class: "ts-cut-tube" }, svg("rect", { class: "ts-cut", x, y, width: w, height: h, rx: 4 }));
  node.append(svg("path", { class: "ts-nest ts-web", d: `M${x + 12} ${y}l12 ${h}M${x + 30} ${y}l-14 ${h}M${x + 18} ${y}q4 7-6 ${h}M${x + 8} ${y + 5}q12 6 24-2M${x + 8} ${y + 10}q12-4 24 1` }));
  node.append(svg("path", { class: "ts-nest ts-tube-nest", d: tangle(x + 6, y + 1, 32, h - 2) }), svg("rect", { class: "ts-plug", x: x + 6, y: y + 1, width: 32, height: h - 2, rx: 3 }));
  const rust = (name, which) => node.append(svg("path", { class: `ts-rust ${name}`, d: which.map((i) => `M${ports[i] - 6} ${tube.y - 11}h12l-2 6h-7z`).join("") }));
  rust("ts-rust-some", [2, 5]);
  rust("ts-rust-many", [0, 1, 3, 4, 6]);
  return node;
}

// ``seen``: part -> { steps }, as the bench tells it. What isn't known is left out of the picture.
export function patchOpened(drawn, seen) {
  const mark = (node, part, names) => {
    if (!node) return;
    const steps = (seen[part] || {}).steps || {};
    node.classList.toggle("ts-there", Boolean(seen[part]));
    for (const name of names) setAttribute(node, `data-${name}`, steps[name] ?? null);
  };
  mark(drawn.flueCut, "flue", ["soot", "blocked", "baffle"]);
  mark(drawn.grille, "flue", ["inlet"]);
  mark(drawn.roof, "flue", ["soot"]);
  mark(drawn.tubeCut, "burner", ["web", "rust"]);
  const askew = ((seen.burner || {}).steps || {}).askew === 1;
  const { x1, y } = drawn.plan.tube || {};
  if (drawn.tube) setAttribute(drawn.tube, "transform", askew ? `rotate(3 ${x1} ${y})` : null);
}

function ragged(x, depth, from, to) {
  let d = `M${x} ${from}`;
  for (let y = from, i = 0; y < to; y += 8, i += 1) d += `L${(x + depth * (0.45 + 0.55 * (((i * 37) % 10) / 10))).toFixed(1)} ${y + 4}`;
  return `${d}L${x} ${to}Z`;
}

function across(from, to, y, depth) {
  let d = `M${from} ${y}`;
  for (let x = from, i = 0; x < to - 8; x += 8, i += 1) d += `L${x + 4} ${(y + depth * (0.3 + 0.7 * (((i * 37) % 10) / 10))).toFixed(1)}`;
  return `${d}L${to} ${y}Z`;
}

// Twigs and straw, in a box: the same each time.
function tangle(x, y, w, h) {
  const count = Math.max(7, Math.round(h / 2.4));
  const at = (from, size, share) => (from + size * share).toFixed(1);
  const chance = (i, k) => ((i * k + 3) % 17) / 16;
  return Array.from({ length: count }, (_, i) => {
    const [a, b] = [chance(i, 5) * 0.45, 1 - chance(i, 11) * 0.45];
    const [from, mid, to] = [chance(i, 7), (chance(i, 13) + (i + 0.5) / count) / 2, (chance(i, 3) + 2 * ((i + 0.5) / count)) / 3];
    return `M${at(x, w, a)} ${at(y, h, (from + 2 * ((i + 0.5) / count)) / 3)}Q${at(x, w, (a + b) / 2)} ${at(y, h, mid)} ${at(x, w, b)} ${at(y, h, to)}`;
  }).join("");
}
