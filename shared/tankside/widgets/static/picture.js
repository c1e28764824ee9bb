// The wiring picture: drawn once for a heater and a width, then patched. Terminals, covers and switches are
// real buttons laid over the drawing; the whole picture is one stop of the Tab key, and arrows walk inside it.
import { arrange } from "./arrange.js";
import { markOf, wireText } from "./labels.js";
import { makeLegend, roleClass } from "./legend.js";
import { breakLines, textWidth } from "./measure.js";
import { button, el, keyed, minutesText, setAttribute, setReason, setText, svg } from "./dom.js";
import { measureSheet, titleText, widthAcross, widthDown, wireLabel } from "./geometry.js";
import { bentPath, drawSymbol } from "./symbols.js";

export function makePicture({ onTerminal, onAction }) {
  const drawing = svg("svg", { class: "ts-drawing", "aria-hidden": "true", focusable: "false" });
  const layer = el("div", { class: "ts-layer" });
  const stage = el("div", { class: "ts-stage", role: "group", "aria-label": "Wiring. Arrow keys walk from terminal to terminal." }, drawing, layer);
  const legend = makeLegend();
  const node = el("section", { class: "ts-sheet", "aria-label": "Wiring picture" }, stage, legend.node);
  let drawn = null;
  let key = "";
  let current = null;

  stage.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    const stops = [...layer.querySelectorAll("button:not([hidden])")];
    const here = stops.indexOf(document.activeElement);
    let next = null;
    if (step && here >= 0) next = stops[(here + step + stops.length) % stops.length];
    else if (event.key === "Home") next = stops[0];
    else if (event.key === "End") next = stops[stops.length - 1];
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
  stage.addEventListener("focusin", (event) => {
    if (event.target.tagName === "BUTTON") rove(event.target);
  });

  function rove(target) {
    current = target ? target.dataset.stop : current;
    const stops = [...layer.querySelectorAll("button:not([hidden])")];
    const chosen = stops.find((stop) => stop.dataset.stop === current) || stops[0];
    for (const stop of stops) setAttribute(stop, "tabindex", stop === chosen ? "0" : "-1");
  }

  function draw(view, width, across) {
    const plan = arrange(view, !across);
    withPositions(plan, view);
    const sheet = measureSheet(plan, width, across);
    drawn = { sheet, wires: new Map(), symbols: new Map(), titles: new Map() };
    setAttribute(drawing, "viewBox", `0 0 ${sheet.width} ${sheet.height}`);
    setAttribute(drawing, "width", sheet.width);
    setAttribute(drawing, "height", sheet.height);
    stage.style.width = `${sheet.width}px`;
    stage.style.height = `${sheet.height}px`;
    stage.classList.toggle("ts-across", sheet.across);
    drawing.replaceChildren();
    for (const band of sheet.bands) drawBand(drawing, band);
    for (const part of sheet.parts.values()) drawPart(drawing, part, sheet, drawn);
    for (const wire of sheet.wires) drawn.wires.set(wire.id, drawWire(drawing, wire, sheet));
    for (const part of sheet.parts.values()) drawn.titles.set(part.id, drawTexts(drawing, part, sheet));
    for (const band of sheet.bands) drawBandHead(drawing, band, view.places.find((p) => p.id === band.place), sheet);
    legend.update(sheet.wires.map((wire) => wire.role), view.parts);
    const handles = new Set(view.switches.filter((hand) => hand.outside).map((hand) => hand.id));
    drawn.hatches = sheet.bands.map((band) => drawCover(drawing, band, sheet, handles));
  }

  function update(view, leads, across, width) {
    if (width < 160) return; // hidden, or still being laid out: no screen is that narrow
    const wanted = `${across} ${width} ${shapeOf(view)}`;
    if (wanted !== key) draw(view, width, across);
    key = wanted;
    patch(view, leads);
  }

  function patch(view, leads) {
    const { sheet } = drawn;
    const open = new Map(view.places.map((p) => [p.id, p.open]));
    const switches = new Map(view.switches.map((s) => [s.id, s]));
    sheet.bands.forEach((band, i) => drawn.hatches[i].classList.toggle("ts-on", !open.get(band.place)));
    for (const wire of view.wires) {
      const lines = drawn.wires.get(wire.id);
      if (!lines) continue;
      lines.classList.toggle("ts-lifted", Boolean(wire.lifted));
      const inside = view.scene && view.scene.inside;
      setAttribute(lines, "data-live", (inside && inside.wires[wire.id]) || null);
    }
    for (const [id, symbol] of drawn.symbols) {
      const hand = switches.get(id);
      if (!hand) continue;
      const part = sheet.parts.get(id);
      if (symbol.dataset.position === String(hand.position)) continue;
      symbol.dataset.position = String(hand.position);
      symbol.replaceChildren(...drawSymbol(part, sheet, hand.position).childNodes);
      const words = titleText(part, part.several, hand.position).split(" ");
      const last = part.title.lines[part.title.lines.length - 1].split(" ").length;
      setText(drawn.titles.get(id), words.slice(-last).join(" "));
    }
    const stops = stopsOf(view, sheet, open, switches);
    const focused = layer.contains(document.activeElement) ? document.activeElement.dataset.stop : null;
    keyed(layer, stops, (s) => s.stop, makeStop, (target, stop) => patchStop(target, stop, leads));
    if (focused && !layer.contains(document.activeElement)) {
      const same = layer.querySelector(`[data-stop="${CSS.escape(focused)}"]`) || layer.querySelector("button");
      if (same) same.focus({ preventScroll: true });
    }
    rove(null);
  }

  function makeStop(stop) {
    const target = button({ "class": `ts-stop ts-stop-${stop.kind}`, "data-stop": stop.stop, "tabindex": "-1" }, el("span", { class: "ts-face", "aria-hidden": "true" }), el("span", { class: "ts-hidden ts-name" }));
    target.addEventListener("click", () => {
      if (target.getAttribute("aria-disabled") === "true") return onAction({ blocked: target.title });
      const now = target.stopNow;
      if (now.kind === "terminal") onTerminal(now.id, now.name);
      else onAction(now.action);
    });
    return target;
  }

  function patchStop(target, stop, leads) {
    target.stopNow = stop;
    target.style.left = `${stop.x}px`;
    target.style.top = `${stop.y}px`;
    if (stop.w) [target.style.width, target.style.minHeight] = [`${stop.w}px`, `${stop.h}px`];
    const face = target.querySelector(".ts-face");
    if (stop.kind === "terminal") {
      const on = ["red", "black"].filter((lead) => leads[lead] === stop.id);
      setAttribute(target, "data-lead", on.join(" ") || null);
      setText(face, on.map((lead) => (lead === "red" ? "R" : "B")).join(""));
      setText(target.querySelector(".ts-name"), stop.name + on.map((lead) => `, ${lead} lead is here`).join(""));
    } else {
      setText(face, stop.face);
      setText(target.querySelector(".ts-name"), stop.name);
    }
    setReason(target, stop.why);
    if (!stop.why) setAttribute(target, "title", stop.kind === "terminal" ? stop.name : null);
  }

  return {
    node,
    update,
    width: () => Math.floor(node.clientWidth - 2),
    spotOf: (terminal) => layer.querySelector(`[data-stop="terminal ${CSS.escape(terminal)}"]`),
    get sheet() {
      return drawn && drawn.sheet;
    },
  };
}

// What the layout rests on; as long as it is the same, nothing is laid out anew.
function shapeOf(view) {
  return JSON.stringify([view.places.map((p) => p.id), view.parts.map((p) => [p.id, p.name, p.place]), view.wires.map((w) => [w.id, w.from, w.to])]);
}

const needs = new Map();

// How the picture and the meter stand on a desk of so many pixels: "wide" (from left to right, the meter below),
// "beside" (from top to bottom, the meter beside it) or "stack" (too narrow for both).
export function arrangement(view, width) {
  const shape = shapeOf(view);
  if (!needs.has(shape)) needs.set(shape, [widthDown(withPositions(arrange(view, true), view)), widthAcross(arrange(view))]);
  const [need, wide] = needs.get(shape);
  if (width >= 900 && width - 10 >= wide) return { mode: "wide", columns: 3, need };
  const beside = width >= 580 && width - (width < 820 ? 270 : 326) >= need;
  return { mode: beside ? "beside" : "stack", columns: width - 590 >= Math.max(need, 420) ? 3 : 2, need };
}

function withPositions(plan, view) {
  for (const s of view.switches) if (plan.parts.has(s.id)) plan.parts.get(s.id).positions = s.positions;
  return plan;
}

// ---- what can be pressed in the picture, in the order in which the current meets it

function stopsOf(view, sheet, open, switches) {
  const stops = [];
  const places = new Map(view.places.map((p) => [p.id, p]));
  const terminals = new Map(view.parts.flatMap((p) => p.terminals.map((t) => [t.id, t])));
  const wires = sheet.wires.filter((w) => w.loose && w.loose.id);
  const stopped = view.stopped ? "The bench is stopped." : "";
  for (const band of sheet.bands) {
    const place = places.get(band.place);
    if (place.cover && !band.again) stops.push(coverStop(place, band, sheet, view, stopped));
    const here = [...sheet.parts.values()].filter((p) => p.rank >= band.from && p.rank <= band.to);
    here.sort((a, b) => a.rank - b.rank || a.low - b.low);
    for (const part of here) {
      const hand = switches.get(part.id);
      if (hand && hand.position !== null) stops.push(switchStop(part, hand, view, stopped)); // null: behind a closed cover
      for (const id of part.terminals) {
        const t = terminals.get(id);
        const spot = sheet.terminals.get(id);
        if (!open.get(part.place)) continue;
        stops.push({ stop: `terminal ${id}`, kind: "terminal", id, name: t.name, x: spot.x, y: spot.y, why: t.reachable ? stopped : "It can't be reached." });
        for (const wire of wires) {
          const now = view.wires.find((w) => w.id === wire.id);
          const end = wire.lifts_at === "from" ? wire.from : wire.to;
          if (end === id && now.lifted) {
            const { loose } = wire;
            stops.push({ stop: `terminal ${loose.id}`, kind: "terminal", id: loose.id, name: loose.name, x: loose.x, y: loose.y, why: stopped });
          }
        }
      }
    }
  }
  return stops;
}

function coverStop(place, band, sheet, view, stopped) {
  const verb = place.open ? "close cover" : "open cover";
  const cost = minutesText((view.costs || {})[verb]);
  const face = place.open ? "Put cover back" : "Take cover off";
  const at = sheet.across ? { x: band.x + band.w / 2, y: 48 } : { x: band.x + band.w - 92, y: band.y + 17 };
  return { stop: `cover ${place.id}`, kind: "cover", name: `${face}: ${place.name}${cost ? `, ${cost}` : ""}`, face, why: stopped, action: { verb, args: { place: place.id } }, ...at };
}

function switchStop(part, hand, view, stopped) {
  const next = hand.position === hand.positions[0] ? hand.positions[1] : hand.positions[0];
  const { box } = part;
  const across = box.w > box.h;
  const why = hand.locked ? "Your lock is on it." : stopped;
  const at = part.several
    ? { x: part.control.x, y: part.control.y, w: 64, h: 26 }
    : { x: box.x + box.w / 2, y: box.y + box.h / 2, w: Math.max(24, box.w - (across ? 28 : 8)), h: Math.max(24, box.h - (across ? 8 : 28)) };
  const act = next === "out" ? "Pull the plug" : next === "in" ? "Plug in" : `Turn it ${next}`;
  const text = `${hand.name} is ${hand.position}${hand.locked ? ", locked" : ""}. ${act}.`;
  return { stop: `switch ${hand.id}`, kind: part.several ? "plug" : "switch", name: text, face: part.several ? (part.type === "mains supply" ? `plug ${hand.position}` : hand.position) : "", why, action: { verb: "switch", args: { part: hand.id, position: next } }, ...at };
}

// ---- drawing

function drawBand(into, band) {
  into.append(svg("rect", { class: "ts-band", x: band.x, y: band.y, width: band.w, height: band.h, rx: 6 }));
}

// The place's name, on a strip of its own under which the conductors pass.
function drawBandHead(into, band, place, sheet) {
  const text = place.name + (band.again ? " (continued)" : "");
  const title = breakLines(text, band.w - (sheet.across ? 10 : 150), 12.5, true);
  const at = sheet.across ? { x: band.x + band.w / 2, y: 17, anchor: "middle" } : { x: band.x + 12, y: band.y + 21 - (title.length - 1) * 7, anchor: "start" };
  if (!sheet.across) into.append(svg("rect", { class: "ts-band-head", x: band.x + 1, y: band.y + 1, width: band.w - 2, height: band.headHeight - 2, rx: 5 }));
  into.append(lines(title, at.x, at.y, 14, { "class": "ts-place", "text-anchor": at.anchor }));
}

function drawPart(into, part, sheet, drawn) {
  const { box } = part;
  const node = svg("g", { class: "ts-part" }, svg("rect", { class: "ts-box", x: box.x, y: box.y, width: box.w, height: box.h, rx: 5 }));
  const symbol = drawSymbol(part, sheet, null);
  drawn.symbols.set(part.id, symbol);
  node.append(symbol);
  into.append(node);
}

function drawTexts(into, part, sheet) {
  const { title } = part;
  const top = title.up ? title.y - (title.lines.length - 1) * 15 : title.y;
  const node = lines(title.lines, title.x, top, 15, { "class": "ts-part-name", "text-anchor": title.anchor });
  into.append(node);
  for (const id of part.terminals) {
    const spot = sheet.terminals.get(id);
    into.append(svg("circle", { class: "ts-screw", cx: spot.x, cy: spot.y, r: 6 }));
    into.append(lines(spot.label.lines, spot.label.x, spot.label.y, 12.5, { "class": "ts-label", "text-anchor": spot.label.anchor }));
  }
  return node.lastChild;
}

function drawWire(into, wire, sheet) {
  const node = svg("g", { class: `ts-wire ${roleClass(wire.role)}` }, svg("title", { text: `${markOf(wire)}: ${wire.name} (${wire.role})` }));
  node.append(conductor(wire.points, "ts-landed"));
  if (wire.loose) node.append(conductor(wire.loose.points, "ts-loose"));
  const { label } = wire;
  if (label.leader) node.append(svg("path", { class: "ts-leader", d: `M${label.leader.x} ${label.leader.from} V${label.leader.to}` }));
  const words = label.lines || wireLabel(wireText(wire), sheet);
  node.append(lines(words, label.x, label.y, 12.5, { "class": "ts-label ts-wire-label", "text-anchor": label.anchor }));
  into.append(node);
  return node;
}

function conductor(points, name) {
  const d = bentPath(points, 7);
  return svg("g", { class: name }, ...["ts-live-halo", "ts-casing", "ts-core", "ts-tracer"].map((part) => svg("path", { class: part, d })));
}

// ``handles``: the switches whose handle stands out of the cover, where its words must not be.
function drawCover(into, band, sheet, handles) {
  const pad = band.headHeight;
  const box = { x: band.x + 4, y: band.y + pad, width: band.w - 8, height: band.h - pad - 5 };
  const node = svg("g", { class: "ts-cover" }, svg("rect", { ...box, rx: 4, class: "ts-plate" }));
  for (const [dx, dy] of [[12, 12], [box.width - 12, 12], [12, box.height - 12], [box.width - 12, box.height - 12]])
    node.append(svg("circle", { class: "ts-cover-screw", cx: box.x + dx, cy: box.y + dy, r: 3.5 }));
  const behind = [...sheet.parts.values()].filter((p) => p.rank >= band.from && p.rank <= band.to);
  const words = ["Cover is on.", ...breakLines(`Behind it: ${behind.map((p) => p.name).join(", ")}.`, Math.min(box.width - 44, 340), 13, true)];
  const { x, y } = freeSpot(words, box, behind.filter((p) => handles.has(p.id)).map(handleBox));
  node.append(lines(words, x, y, 17, { "class": "ts-cover-text", "text-anchor": "middle" }));
  into.append(node);
  return node;
}

function handleBox(part) {
  const { box, control } = part;
  return part.several ? { x: control.x - 32, y: control.y - 13, w: 64, h: 26 } : box;
}

// Where a cover's words stand: in its middle, or at the first place that no handle takes.
function freeSpot(words, box, taken) {
  const [w, h] = [Math.max(...words.map((word) => textWidth(word, 13, true))), words.length * 17];
  const [left, middle, right] = [box.x + w / 2 + 24, box.x + box.width / 2, box.x + box.width - w / 2 - 24];
  const [high, centre, low] = [box.y + h / 2 + 8, box.y + box.height / 2, box.y + box.height - h / 2 - 8];
  const spots = [[middle, centre], [middle, low], [middle, high], [left, centre], [right, centre]];
  const free = ([x, y]) => taken.every((t) => x + w / 2 + 6 < t.x || x - w / 2 - 6 > t.x + t.w || y + h / 2 < t.y || y - h / 2 > t.y + t.h);
  const [x, y] = spots.find(free) || spots[0];
  return { x, y: y - (words.length - 1) * 8.5 + 4 };
}

function lines(texts, x, y, step, attributes) {
  const node = svg("text", { x, y, ...attributes });
  texts.forEach((text, i) => node.append(svg("tspan", { x, dy: i ? step : 0, text })));
  return node;
}
