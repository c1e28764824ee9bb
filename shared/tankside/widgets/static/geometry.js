// From steps and lanes to points on the sheet. "u" runs along the current, "v" across it; a wide sheet
// lays u from left to right, a narrow one from top to bottom. Everything here is in CSS pixels.
import { breakLines, textWidth } from "./measure.js";
import { clearNames, placeLabels, wireText } from "./labels.js";
import { routeWires } from "./routes.js";

export const LABEL = 11.5;
export const NAME = 13;
export const RADIUS = 12;
const LINE = 14;
const GAP = 46; // between one part's terminal and the next part's
const GAP_DOWN = 54;
const NARROW = GAP - 4; // a terminal's label, where the next terminal's label stands beside it
const LEAST_PITCH = 116;
const LEFT = 60;
const TRACKS = 52; // at the right edge, for conductors that go around

// How wide a sheet must be for the current to run from top to bottom.
export function widthDown(plan) {
  const widths = columnWidths(plan);
  const group = (g) => widths.reduce((sum, slots, i) => sum + (plan.groups[i] === g ? total(slots) : 0), 0);
  return LEFT + Math.max(group(0), group(1)) + TRACKS;
}

function total(numbers) {
  return numbers.reduce((a, b) => a + b, 0);
}

// What the texts in each column of each lane need: a part's name on two lines, its terminals' labels on two.
function columnWidths(plan) {
  const inTwo = (text, size, bold) => {
    for (let width = 44; width < 240; width += 8) {
      const lines = breakLines(text, width, size, bold);
      if (lines.length <= 2 && lines.every((line) => textWidth(line, size, bold) <= width)) return width;
    }
    return 240;
  };
  return plan.lanes.map((_, i) => Array.from({ length: plan.slots[i] }, (__, slot) => {
    const labels = [...plan.terminals.values()].filter((t) => t.lane === i && t.slot === slot).map((t) => inTwo(t.short, LABEL) + 30);
    const alone = [...plan.parts.values()].filter((p) => p.low === i && p.high === i && p.terminals.every((id) => plan.terminals.get(id).slot === slot));
    return Math.max(74, ...labels, ...alone.map((p) => inTwo(titleText(p, false), NAME, true) + 34));
  }));
}

// How wide a sheet must be for the current to run from left to right.
export function widthAcross(plan) {
  return plan.ranks.length * LEAST_PITCH + 24 + (plan.bands.length - 1) * 8;
}

export function measureSheet(plan, width, across) {
  if (!across) {
    let room = 14;
    for (;;) {
      const sheet = downSheet(plan, Math.max(width, 300), room);
      if (sheet.tracks + 14 <= room) return sheet;
      room = sheet.tracks + 14; // once more, now that it is known how many conductors go around
    }
  }
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
    const nameLines = Math.max(0, ...starting.map((p) => breakLines(titleText(p, p.low !== p.high), pitch - 8, NAME, true).length));
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

function downSheet(plan, width, room) {
  const sheet = { across: false, width: Math.max(width, widthDown(plan) - TRACKS + room), bands: [], ranks: [], lanes: [], parts: new Map(), terminals: new Map(), wires: [] };
  const needs = columnWidths(plan);
  let edge = 0;
  for (const group of [0, 1]) {
    const mine = plan.lanes.map((_, i) => i).filter((i) => plan.groups[i] === group);
    const needed = total(mine.map((i) => total(needs[i])));
    const slots = mine.reduce((sum, i) => sum + plan.slots[i], 0);
    const spare = Math.min(110, (sheet.width - LEFT - room - needed) / Math.max(slots, 1));
    let v = LEFT;
    for (const i of mine) {
      const widths = needs[i].map((need) => need + spare);
      const at = widths.map((_, slot) => v + total(widths.slice(0, slot)));
      sheet.lanes[i] = { lane: plan.lanes[i], line: v, at, widths };
      v += total(widths);
    }
    edge = Math.max(edge, v + 4);
  }
  for (const lane of sheet.lanes) lane.below = edge; // side tracks run to the right of everything
  let u = 0;
  for (const band of plan.bands) {
    const from = u;
    u += 40;
    for (let r = band.from; r <= band.to; r += 1) {
      const half = Math.max(...plan.ranks[r].parts.map((id) => halfHeight(plan.parts.get(id), plan, sheet)));
      sheet.ranks.push({ at: u + GAP_DOWN / 2 + half, half });
      u += 2 * half + GAP_DOWN;
    }
    sheet.bands.push({ ...band, x: 0, y: from, w: sheet.width, h: u - from, headHeight: 34 });
    u += 8;
  }
  return finish(plan, sheet, u - 8);
}

// Height that the labels of a part's terminals take on one side of it.
function labelHeight(part, plan, sheet, side) {
  const spots = part.terminals.map((id) => plan.terminals.get(id)).filter((t) => t.side === side);
  return Math.max(0, ...spots.map((t) => breakLines(t.short, columnOf(t, sheet) - 30, LABEL).length)) * 12.5;
}

function columnOf(terminal, sheet) {
  return sheet.lanes[terminal.lane].widths[terminal.slot];
}

function titleRoom(part, plan, sheet) {
  const spots = part.terminals.map((id) => plan.terminals.get(id));
  const at = spots.map((t) => sheet.lanes[t.lane].at[t.slot]);
  const [low, high] = [Math.min(...at), Math.max(...at)];
  return low === high ? columnOf(spots[0], sheet) - 34 : Math.max(90, high - low - 34);
}

// Half of a part's height: its name, and the labels of its terminals above and below.
function halfHeight(part, plan, sheet) {
  const several = part.low !== part.high;
  const name = breakLines(titleText(part, several), titleRoom(part, plan, sheet), NAME, true).length * 15;
  const [above, below] = [labelHeight(part, plan, sheet, "in"), labelHeight(part, plan, sheet, "out")];
  const middle = part.terminals.some((id) => plan.terminals.get(id).side === "mid");
  if (middle) return Math.max(above + name + 24, below + 22, 32);
  return Math.max(several ? 30 : 28, (above + below + name + (several ? 16 : 10)) / 2);
}

function finish(plan, sheet, end) {
  const point = (u, v) => (sheet.across ? { x: u, y: v } : { x: v, y: u });
  for (const terminal of plan.terminals.values()) {
    const part = plan.parts.get(terminal.part);
    const rank = sheet.ranks[part.rank];
    const lane = sheet.lanes[terminal.lane];
    const u = rank.at + (terminal.side === "in" ? -rank.half : terminal.side === "out" ? rank.half : 0);
    const v = lane.at ? lane.at[terminal.slot] : lane.line + terminal.slot * lane.pitch;
    sheet.terminals.set(terminal.id, { ...terminal, u, v, ...point(u, v) });
  }
  const tracks = routeWires(plan, sheet, point);
  if (!sheet.across) {
    sheet.tracks = tracks;
  }
  const lowest = sheet.across ? clearNames(sheet, (wire) => wireLabel(wireText(wire), sheet)) : 0;
  sheet.height = Math.ceil(sheet.across ? Math.max(end + tracks, lowest) + 6 : end);
  if (sheet.across) for (const band of sheet.bands) band.h = sheet.height;
  for (const part of plan.parts.values()) sheet.parts.set(part.id, boxOf(part, plan, sheet));
  for (const terminal of sheet.terminals.values()) terminal.label = terminalLabel(terminal, sheet, sheet.parts.get(terminal.part).several);
  if (!sheet.across) placeLabels(sheet);
  return sheet;
}

function boxOf(part, plan, sheet) {
  const rank = sheet.ranks[part.rank];
  const spots = part.terminals.map((id) => sheet.terminals.get(id));
  const vs = spots.map((t) => t.v);
  const low = Math.min(...vs);
  const high = Math.max(...vs);
  const several = low !== high;
  const text = titleText(part, several);
  if (sheet.across) {
    const box = { x: rank.at - rank.half, y: low - 15, w: 2 * rank.half, h: high - low + 30 };
    const lines = breakLines(text, sheet.pitch - 8, NAME, true);
    const control = { x: rank.at, y: (low + vs.filter((v) => v > low).reduce((a, b) => Math.min(a, b), high)) / 2 };
    return { ...part, box, several, control, title: { x: rank.at, y: low - 28, anchor: "middle", lines, up: true } };
  }
  const box = { x: low - 20, y: rank.at - rank.half, w: high - low + (several ? 20 + Math.max(...spots.filter((t) => t.v === high).map((t) => Math.max(...breakLines(t.short, columnOf(t, sheet) - 30, LABEL).map((line) => textWidth(line, LABEL)))), 60) + 8 : 40), h: 2 * rank.half };
  const middle = spots.some((t) => t.side === "mid");
  const lines = breakLines(text, titleRoom(part, plan, sheet), NAME, true);
  const above = Math.max(0, ...spots.filter((t) => t.side === "in").map((t) => breakLines(t.short, columnOf(t, sheet) - 30, LABEL).length)) * 12.5;
  const below = Math.max(0, ...spots.filter((t) => t.side === "out").map((t) => breakLines(t.short, columnOf(t, sheet) - 30, LABEL).length)) * 12.5;
  const x = several ? low + 17 : low + 26;
  const y = middle ? box.y + above + 17 : (box.y + above + box.y + box.h - below) / 2 + 4.5 - (lines.length - 1) * 7.5;
  const control = { x: box.x + box.w - 40, y: y - 4 };
  return { ...part, box, several, control, title: { x, y, anchor: "start", lines, up: false } };
}

// A switch's title also says its position; room is made for the longest one.
export function titleText(part, several, position) {
  if (!part.positions || several) return part.name;
  return `${part.name}: ${position || part.positions.reduce((a, b) => (b.length > a.length ? b : a))}`;
}

// True if a conductor joins it to another terminal of its own part, and so leaves it to the side.
function joinedBeside(t) {
  return t.wires.some((w) => (w.from === t.id ? w.to : w.from).split(".")[0] === t.part);
}

function terminalLabel(t, sheet, inside) {
  if (sheet.across) return { x: t.x, y: t.y + 27, anchor: "middle", lines: breakLines(t.short, NARROW, LABEL) };
  const lines = breakLines(t.short, columnOf(t, sheet) - 30, LABEL);
  const more = (lines.length - 1) * 12.5;
  const [up, down] = inside ? [4 + more, 14] : [3 + more, 8];
  const y = t.side === "out" ? t.y - up : t.side === "in" ? t.y + down : t.y + (joinedBeside(t) ? 25 : 4);
  return { x: t.x + (inside ? 17 : 26), y, anchor: "start", lines };
}

export function wireLabel(text, sheet) {
  const room = sheet.pitch - 8;
  return textWidth(text, LABEL) <= room ? [text] : breakLines(text, room, LABEL);
}
