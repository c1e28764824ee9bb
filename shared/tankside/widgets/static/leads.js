// The two test leads, drawn as curves from the meter to the terminals that they touch.
import { setAttribute, svg } from "./dom.js";

export function makeLeads(root) {
  const curves = {};
  const drawing = svg("svg", { "class": "ts-cables", "aria-hidden": "true", "focusable": "false" });
  for (const lead of ["red", "black"]) {
    curves[lead] = ["ts-casing", "ts-core"].map((part) => svg("path", { class: `${part} ts-cable-${lead}` }));
    drawing.append(...curves[lead]);
  }

  function draw(ends) {
    const frame = root.getBoundingClientRect();
    setAttribute(drawing, "width", frame.width);
    setAttribute(drawing, "height", frame.height);
    for (const lead of ["red", "black"]) {
      const end = ends[lead];
      const d = end && end.from && end.to && shown(end.to) ? curve({ ...centre(end.from, frame), out: end.out, lane: lead === "red" ? 0 : 1 }, centre(end.to, frame)) : null;
      for (const path of curves[lead]) setAttribute(path, "d", d);
    }
  }

  return { node: drawing, draw };
}

// A folded picture keeps its terminals' places, so that having a place isn't enough.
function shown(node) {
  return node.offsetParent && (!node.checkVisibility || node.checkVisibility());
}

function centre(node, frame) {
  const box = node.getBoundingClientRect();
  return { x: box.left + box.width / 2 - frame.left, y: box.top + box.height / 2 - frame.top, r: box.width / 2 };
}

// Out of the meter's edge, then a hanging curve that meets the terminal from the meter's side.
function curve(from, to) {
  if (from.out === "left" && Math.abs(to.y - from.y) > 150) return alongTheEdge(from, to);
  const dx = to.x - from.x;
  const dy = to.y - from.y;
  const pull = Math.max(36, Math.hypot(dx, dy) * 0.4);
  const a = from.out === "up" ? { x: from.x, y: from.y - pull } : { x: from.x - pull, y: from.y };
  const b = from.out === "up" ? { x: to.x - Math.sign(dx) * pull * 0.2, y: to.y + pull * 0.6 } : { x: to.x + pull * 0.6, y: to.y + Math.sign(-dy) * pull * 0.15 };
  const length = Math.hypot(b.x - to.x, b.y - to.y) || 1;
  const tip = { x: to.x + ((b.x - to.x) / length) * (to.r - 1), y: to.y + ((b.y - to.y) / length) * (to.r - 1) };
  return `M${from.x.toFixed(1)} ${from.y.toFixed(1)} C${a.x.toFixed(1)} ${a.y.toFixed(1)} ${b.x.toFixed(1)} ${b.y.toFixed(1)} ${tip.x.toFixed(1)} ${tip.y.toFixed(1)}`;
}

// To a terminal far above or below: down beside the picture, then in at a slant, over as little as can be.
function alongTheEdge(from, to) {
  const way = Math.sign(to.y - from.y);
  const edge = from.x - 26 - from.lane * 9;
  const turn = to.y - way * 96;
  const tip = { x: to.x + to.r * 0.75, y: to.y - way * to.r * 0.75 };
  const n = (value) => value.toFixed(1);
  return `M${n(from.x - 6)} ${n(from.y)} Q${n(edge)} ${n(from.y)} ${n(edge)} ${n(from.y + way * 40)} L${n(edge)} ${n(turn)} C${n(edge)} ${n(to.y - way * 40)} ${n(tip.x + 60)} ${n(tip.y - way * 40)} ${n(tip.x)} ${n(tip.y)}`;
}
