// From steps and lanes to points on the sheet. "u" runs along the current, "v" across it; a wide sheet
// lays u from left to right, a narrow one from top to bottom. Everything here is in CSS pixels.
import { breakLines, textWidth } from "./measure.js";
import { routeWires } from "./routes.js";

export const LABEL = 11.5;
export const NAME = 13;
export const RADIUS = 12;
const LINE = 14;
const GAP = 46; // between one part's terminal and the next part's
const NARROW = GAP - 4; // a terminal's label, where the next terminal's label stands beside it
const LEAST_PITCH = 116;

// How wide a sheet must be for the current to run from top to bottom.
export function widthDown(plan) {
  return 44 + 100 * plan.slots.reduce((a, b) => a + b, 0);
}

// How wide a sheet must be for the current to run from left to right.
export function widthAcross(plan) {
  return plan.ranks.length * LEAST_PITCH + 24 + (plan.bands.length - 1) * 8;
}

export function measureSheet(plan, width, across) {
  if (!across) return downSheet(plan, Math.max(width, 300));
  const pitch = (width - 24 - (plan.bands.length - 1) * 8) / plan.ranks.length;
  return acrossSheet(plan, width, Math.max(LEAST_PITCH, Math.min(pitch, 190)));
}

// ---- from left to right: bands are columns, lanes are rows

function acrossSheet(plan, width, pitch) {
  const sheet = { across: true, width, bands: [], ranks: [], lanes: [], parts: new Map(), terminals: new Map(), wires: [] };
  const head = 62;
  let u = 12;
  for (const band of plan.bands) {
    const from = u;
    for (let r = band.from; r <= band.to; r += 1) {
      sheet.ranks.push({ at: u + pitch / 2, half: (pitch - GAP) / 2 });
      u += pitch;
    }
    sheet.bands.push({ ...band, x: from, y: 0, w: u - from, headHeight: head });
    u += 8;
  }
  sheet.width = u + 4;
  sheet.pitch = pitch;
  let v = head + 6;
  plan.lanes.forEach((lane, i) => {
    const starting = [...plan.parts.values()].filter((p) => p.low === i);
    const nameLines = Math.max(0, ...starting.map((p) => breakLines(titleText(p, p.low !== p.high), pitch - 30, NAME, true).length));
    const labels = [...plan.terminals.values()].filter((t) => t.lane === i);
    const labelLines = Math.max(1, ...labels.map((t) => breakLines(t.short, NARROW, LABEL).length));
    const line = v + nameLines * 16 + (nameLines ? 28 : 20);
    const below = 18 + labelLines * LINE + 1.5 * LINE;
    sheet.lanes.push({ lane, line, pitch: 60, below: line + (plan.slots[i] - 1) * 60 + below, label: line + 18 + labelLines * LINE });
    v = line + (plan.slots[i] - 1) * 60 + below + 6;
  });
  return finish(plan, sheet, v);
}

// ---- from top to bottom: bands are rows, lanes are columns

function downSheet(plan, width) {
  const sheet = { across: false, width, bands: [], ranks: [], lanes: [], parts: new Map(), terminals: new Map(), wires: [] };
  const slots = plan.slots.reduce((a, b) => a + b, 0);
  const left = 44;
  const column = Math.max(100, (width - left) / slots);
  let u = 0;
  for (const band of plan.bands) {
    const from = u;
    u += 40;
    for (let r = band.from; r <= band.to; r += 1) {
      const half = Math.max(...plan.ranks[r].parts.map((id) => halfHeight(plan.parts.get(id), plan, column)));
      sheet.ranks.push({ at: u + GAP / 2 + half, half });
      u += 2 * half + GAP;
    }
    sheet.bands.push({ ...band, x: 0, y: from, w: width, h: u - from, headHeight: 34 });
    u += 8;
  }
  let v = left;
  plan.lanes.forEach((lane, i) => {
    sheet.lanes.push({ lane, line: v, pitch: column, below: v + plan.slots[i] * column - 18, width: column });
    v += plan.slots[i] * column;
  });
  sheet.width = Math.max(width, v);
  for (const band of sheet.bands) band.w = sheet.width;
  return finish(plan, sheet, u - 8);
}

// Half of a part's height: its name, and the labels of its terminals above and below.
function halfHeight(part, plan, column) {
  const several = part.low !== part.high;
  const most = (side) => Math.max(0, ...part.terminals.map((id) => plan.terminals.get(id)).filter((t) => t.side === side).map((t) => breakLines(t.short, column - 30, LABEL).length));
  const name = several ? 1 : breakLines(titleText(part, several), column - 30, NAME, true).length;
  return Math.max(several ? 32 : 28, ((most("in") + most("out")) * 12.5 + name * 15 + (several ? 14 : 2)) / 2);
}

function finish(plan, sheet, end) {
  const point = (u, v) => (sheet.across ? { x: u, y: v } : { x: v, y: u });
  for (const terminal of plan.terminals.values()) {
    const part = plan.parts.get(terminal.part);
    const rank = sheet.ranks[part.rank];
    const lane = sheet.lanes[terminal.lane];
    const u = rank.at + (terminal.side === "in" ? -rank.half : terminal.side === "out" ? rank.half : 0);
    const v = lane.line + terminal.slot * lane.pitch;
    sheet.terminals.set(terminal.id, { ...terminal, u, v, ...point(u, v) });
  }
  const tracks = routeWires(plan, sheet, point);
  const height = sheet.across ? end + tracks : end;
  sheet.height = Math.ceil(height + (sheet.across ? 6 : 0));
  if (sheet.across) for (const band of sheet.bands) band.h = sheet.height;
  for (const part of plan.parts.values()) sheet.parts.set(part.id, boxOf(part, sheet));
  for (const terminal of sheet.terminals.values()) terminal.label = terminalLabel(terminal, sheet, sheet.parts.get(terminal.part).several);
  return sheet;
}

function boxOf(part, sheet) {
  const rank = sheet.ranks[part.rank];
  const spots = part.terminals.map((id) => sheet.terminals.get(id));
  const vs = spots.map((t) => t.v);
  const low = Math.min(...vs);
  const high = Math.max(...vs);
  const several = low !== high;
  const text = titleText(part, several);
  if (sheet.across) {
    const box = { x: rank.at - rank.half, y: low - 15, w: 2 * rank.half, h: high - low + 30 };
    const lines = breakLines(text, sheet.pitch - 30, NAME, true);
    const control = { x: rank.at, y: (low + vs.filter((v) => v > low).reduce((a, b) => Math.min(a, b), high)) / 2 };
    return { ...part, box, several, control, title: { x: rank.at, y: low - 28, anchor: "middle", lines, up: true } };
  }
  const box = { x: low - 20, y: rank.at - rank.half, w: high - low + (several ? Math.min(sheet.lanes[part.high].width - 4, 112) : 40), h: 2 * rank.half };
  const next = spots.filter((t) => t.side === "mid" && t.v > low).map((t) => t.v - 14);
  const room = several ? Math.min(box.x + box.w, ...next) - low - 4 : sheet.lanes[part.low].width - 30;
  const middle = spots.some((t) => t.side === "mid" && t.v === low);
  const x = several ? low - 12 : low + 26;
  const lines = breakLines(text, room, NAME, true);
  const shift = middle ? (several ? 18 - rank.half : -16) : 0;
  const control = { x: box.x + box.w - 44, y: rank.at - (several ? 18 : 0) };
  const lower = several && !middle && spots.every((t) => t.side === "in") ? rank.half - 15 : 0;
  const y = rank.at + 4.5 + shift + lower - (lines.length - 1) * 7.5;
  return { ...part, box, several, control, title: { x, y, anchor: "start", lines, up: false } };
}

// A switch's title also says its position; room is made for the longest one.
export function titleText(part, several, position) {
  if (!part.positions || several) return part.name;
  return `${part.name}: ${position || part.positions.reduce((a, b) => (b.length > a.length ? b : a))}`;
}

function terminalLabel(t, sheet, inside) {
  if (sheet.across) return { x: t.x, y: t.y + 27, anchor: "middle", lines: breakLines(t.short, NARROW, LABEL) };
  const lines = breakLines(t.short, sheet.lanes[t.lane].width - 30, LABEL);
  const more = (lines.length - 1) * 12.5;
  const [up, down] = inside ? [4 + more, 14] : [3 + more, 8];
  const y = t.side === "out" ? t.y - up : t.side === "in" ? t.y + down : t.y + 4;
  return { x: t.x + (inside ? 17 : 26), y, anchor: "start", lines };
}

export function wireLabel(text, sheet, wire) {
  const room = sheet.across ? sheet.pitch - 8 : sheet.lanes[wire.lane].width - 14;
  return textWidth(text, LABEL) <= room ? [text] : breakLines(text, room, LABEL);
}
