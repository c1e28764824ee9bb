// Small drawings of what a part is, between the terminals it joins. What is hidden in a part is not drawn.
import { svg } from "./dom.js";

export function drawSymbol(part, sheet, position) {
  const spots = part.terminals.map((id) => sheet.terminals.get(id));
  const node = svg("g", { class: "ts-symbol" });
  if (part.type === "element") return coil(node, spots, sheet);
  for (const a of spots.filter((t) => t.side === "in"))
    for (const b of spots.filter((t) => t.side === "out" && t.lane === a.lane && t.slot === a.slot)) {
      const draw = between(a, b, sheet);
      if (part.type === "link bar") draw.bar(node);
      else if (part.type === "splice box") draw.splice(node);
      else if (position) draw.blade(node, part.positions && position === part.positions[0]);
      else if (part.type === "thermostat" || part.type === "high limit") draw.bulb(node, part.type === "thermostat" ? "t°" : "max");
      else draw.through(node);
    }
  return node;
}

// Drawing in a frame that runs from one terminal to the other: s along, t to the side.
function between(a, b, sheet) {
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  const at = (s, t) => (sheet.across ? [a.x + s, a.y + t] : [a.x - t, a.y + s]);
  const line = (node, ...spots) => node.append(svg("path", { d: pathOf(spots.map(([s, t]) => at(s, t))) }));
  const dot = (node, s, t, r) => {
    const [cx, cy] = at(s, t);
    node.append(svg("circle", { cx, cy, r }));
  };
  const m = length / 2;
  const edge = 12;
  return {
    through: (node) => line(node, [edge, 0], [length - edge, 0]),
    bar(node) {
      line(node, [edge, -5], [length - edge, -5], [length - edge, 5], [edge, 5], [edge, -5]);
    },
    splice(node) {
      line(node, [edge, 0], [length - edge, 0]);
      dot(node, m, 0, 4);
    },
    blade(node, made) {
      const reach = Math.min(m - edge, 13);
      line(node, [edge, 0], [m - reach, 0]);
      line(node, [m + reach, 0], [length - edge, 0]);
      line(node, [m - reach, 0], made ? [m + reach, 0] : [m + reach - 3, -12]);
      dot(node, m - reach, 0, 2.5);
      dot(node, m + reach, 0, 2.5);
    },
    bulb(node, text) {
      const [x, y] = at(m, 0);
      line(node, [edge, 0], [m - 12, 0]);
      line(node, [m + 12, 0], [length - edge, 0]);
      node.append(svg("circle", { cx: x, cy: y, r: 12 }));
      node.append(svg("text", { x, y: y + 3.5, "text-anchor": "middle", class: "ts-tiny", text }));
    },
  };
}

function coil(node, spots, sheet) {
  const ends = spots.filter((t) => t.lane !== undefined && !/sheath|shell|ground|case/.test(t.id)).slice(0, 2);
  if (ends.length < 2) return node;
  const [a, b] = ends;
  const off = sheet.across ? 24 : 0;
  const [ax, ay, bx, by] = [a.x + off, a.y, b.x + off, b.y];
  const length = Math.hypot(bx - ax, by - ay);
  const [ux, uy] = [(bx - ax) / length, (by - ay) / length];
  const spot = (s, t) => [ax + ux * s - uy * t, ay + uy * s + ux * t];
  const zig = [];
  const start = length * 0.3;
  const run = length * 0.4;
  for (let i = 0; i <= 8; i += 1) zig.push(spot(start + (run * i) / 8, i === 0 || i === 8 ? 0 : i % 2 ? 7 : -7));
  const dip = sheet.across ? [[a.x + 12, a.y], [ax, ay]] : [[a.x, a.y + 12], [a.x, a.y + 20]];
  const rise = sheet.across ? [[bx, by], [b.x + 12, b.y]] : [[b.x, b.y + 20], [b.x, b.y + 12]];
  const low = sheet.across ? zig : zig.map(([x, y]) => [x, y + 20]);
  node.append(svg("path", { d: pathOf([...dip, ...low, ...rise]) }));
  return node;
}

export function pathOf(points) {
  return points.map(([x, y], i) => `${i ? "L" : "M"}${round(x)} ${round(y)}`).join(" ");
}

// The same path with its corners rounded, as a conductor bends.
export function bentPath(points, radius) {
  let d = `M${round(points[0].x)} ${round(points[0].y)}`;
  for (let i = 1; i < points.length - 1; i += 1) {
    const [p, q, r] = [points[i - 1], points[i], points[i + 1]];
    const into = toward(q, p, radius);
    const out = toward(q, r, radius);
    d += ` L${round(into.x)} ${round(into.y)} Q${round(q.x)} ${round(q.y)} ${round(out.x)} ${round(out.y)}`;
  }
  const last = points[points.length - 1];
  return `${d} L${round(last.x)} ${round(last.y)}`;
}

function toward(from, to, radius) {
  const length = Math.hypot(to.x - from.x, to.y - from.y) || 1;
  const reach = Math.min(radius, length / 2);
  return { x: from.x + ((to.x - from.x) * reach) / length, y: from.y + ((to.y - from.y) * reach) / length };
}

function round(value) {
  return Math.round(value * 10) / 10;
}
