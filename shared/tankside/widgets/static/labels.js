// The names of the conductors: each beside its own line, where it covers no terminal, no other name and the fewest lines.
import { breakLines, textWidth } from "./measure.js";

const SIZE = 11.5;
const STEP_DOWN = 12.5;
const WORD_OF_ROLE = { "dc+": "+", "dc-": "−" }; // of the 12 V side, or of a thermocouple's millivolts

// A conductor's own name, as it would be written on it.
export function markOf(wire) {
  return wire.id.replaceAll("_", " ");
}

export function wireText(wire) {
  const [name, role] = [markOf(wire), (WORD_OF_ROLE[wire.role] || wire.role).replaceAll(" ", "\u00a0")];
  return name.endsWith(` ${role}`) ? name : `${name} ${role}`;
}

export function placeLabels(sheet) {
  const fixed = obstacles(sheet);
  const runs = sheet.wires.map((wire) => wire.points.slice(1).map((q, i) => segment(wire.points[i], q)));
  const order = sheet.wires.map((_, i) => i).sort((a, b) => lengthOf(runs[a]) - lengthOf(runs[b])); // the short ones have no choice
  for (const i of order) {
    const wire = sheet.wires[i];
    let best = null;
    for (const spot of candidates(wire, runs[i], sheet)) {
      let cost = spot.cost;
      for (const box of fixed) cost += 40 * shared(spot.box, box);
      runs.forEach((other, k) => {
        for (const run of other) cost += (k === i ? 6 : 10) * shared(spot.box, run.box);
      });
      if (!best || cost < best.cost) best = { ...spot, cost };
    }
    wire.label = best.label;
    fixed.push(best.box);
  }
}

// Beside a row of parts a name stands below its line; where another conductor runs through it, it goes further down.
// Tells how low the lowest name reaches.
export function clearNames(sheet, wordsOf) {
  let lowest = 0;
  for (const wire of sheet.wires) {
    const lines = wordsOf(wire);
    const w = Math.max(...lines.map((line) => textWidth(line, SIZE)));
    const { label } = wire;
    const x = label.x - { start: 0, middle: w / 2, end: w }[label.anchor];
    const others = sheet.wires.filter((other) => other !== wire).flatMap((other) => other.points.slice(1).map((q, i) => segment(other.points[i], q).box));
    const meets = () => others.some((box) => shared({ x, y: label.y - 9, w, h: 11 + (lines.length - 1) * STEP_DOWN }, box) > 0);
    const from = label.y;
    while (meets() && label.y < from + 48) label.y += 4;
    if (meets()) label.y = from;
    lowest = Math.max(lowest, label.y + (lines.length - 1) * STEP_DOWN);
  }
  return lowest;
}

function candidates(wire, runs, sheet) {
  const text = wireText(wire);
  const forms = [[text], breakLines(text, 84, SIZE)].filter((lines, i) => i === 0 || lines.length > 1);
  const out = [];
  for (const run of runs) {
    for (const lines of forms) {
      const w = Math.max(...lines.map((line) => textWidth(line, SIZE)));
      const h = lines.length * STEP_DOWN;
      const steps = Math.max(3, Math.min(25, Math.round(run.length / 24)));
      for (let k = 0; k < steps; k += 1) {
        const t = (k + 0.5) / steps;
        const [x, y] = [run.x1 + (run.x2 - run.x1) * t, run.y1 + (run.y2 - run.y1) * t];
        const cost = 30 * Math.abs(t - 0.5) + 8 * (lines.length - 1) - Math.min(run.length, 120) / 4;
        const spots = run.upright ? [[x + 8, y - h / 2, "start"], [x - 8 - w, y - h / 2, "end"]] : [[x - w / 2, y - h - 5, "middle"], [x - w / 2, y + 4, "middle"]];
        spots.forEach(([left, top, anchor], side) => {
          if (left < 2 || left + w > sheet.width - 2 || top < 0 || top + h > sheet.height) return;
          const at = anchor === "start" ? left : anchor === "end" ? left + w : left + w / 2;
          out.push({ box: { x: left, y: top, w, h }, cost: cost + 4 * side, label: { x: at, y: top + 10, anchor, lines } });
        });
      }
    }
  }
  return out.length ? out : [{ box: { x: runs[0].x1, y: runs[0].y1, w: 10, h: 10 }, cost: 0, label: { x: runs[0].x1 + 8, y: runs[0].y1, anchor: "start", lines: [text] } }];
}

function obstacles(sheet) {
  const out = [];
  for (const t of sheet.terminals.values()) {
    out.push({ x: t.x - 14, y: t.y - 14, w: 28, h: 28 });
    const w = Math.max(...t.label.lines.map((line) => textWidth(line, SIZE)));
    out.push({ x: t.label.x, y: t.label.y - 10, w, h: t.label.lines.length * STEP_DOWN + 2 });
  }
  for (const part of sheet.parts.values()) {
    const { title, box } = part;
    out.push({ x: title.x, y: title.y - 12, w: Math.max(...title.lines.map((line) => textWidth(line, 13, true))), h: title.lines.length * 15 + 2 });
    if (part.several) out.push({ ...box }, { x: part.control.x - 32, y: part.control.y - 13, w: 64, h: 26 });
  }
  for (const band of sheet.bands) out.push({ x: band.x, y: band.y - 8, w: band.w, h: band.headHeight + 8 });
  for (const wire of sheet.wires) if (wire.loose) out.push({ x: wire.loose.x - 14, y: wire.loose.y - 14, w: 28, h: 28 });
  return out;
}

function segment(p, q) {
  const [x1, y1, x2, y2] = [p.x, p.y, q.x, q.y];
  const box = { x: Math.min(x1, x2) - 3.5, y: Math.min(y1, y2) - 3.5, w: Math.abs(x2 - x1) + 7, h: Math.abs(y2 - y1) + 7 };
  return { x1, y1, x2, y2, box, upright: Math.abs(y2 - y1) > Math.abs(x2 - x1), length: Math.hypot(x2 - x1, y2 - y1) };
}

function lengthOf(runs) {
  return runs.reduce((sum, run) => sum + run.length, 0);
}

// How far two boxes overlap, as the root of the area.
function shared(a, b) {
  const w = Math.min(a.x + a.w, b.x + b.w) - Math.max(a.x, b.x);
  const h = Math.min(a.y + a.h, b.y + b.h) - Math.max(a.y, b.y);
  return w > 0 && h > 0 ? Math.sqrt(w * h) : 0;
}
