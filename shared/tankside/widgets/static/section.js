// The heater drawn: tank (closed, or in section), burner bay with its cover, gas train, water lines. Drawn once for a
// heater and a width; what changes later is moved, not drawn again.
import { setAttribute, setText, svg } from "./dom.js";
import { flameWords, makeFlame, makePilot } from "./flame.js";
import { handleOf, strokesOf } from "./kinds.js";
import { breakLines } from "./measure.js";
import { makeChamberSoot, makeFlueCut, makeGrille, makeTubeCut, patchOpened } from "./opened.js";
import { bentPath } from "./symbols.js";

const SMALL = 11.5;

export function drawSection(into, plan, view) {
  into.replaceChildren();
  const drawn = { plan, parts: new Map() };
  pipes(into, plan);
  jacket(into, plan, drawn);
  if (plan.duct && plan.bay) into.append((drawn.flueCut = makeFlueCut(plan)), (drawn.grille = makeGrille(plan)));
  if (plan.bay) burnerBay(into, plan, drawn);
  for (const part of plan.parts) drawn.parts.set(part.id, onePart(into, part, view));
  if (plan.bay) bayCover(into, plan, drawn);
  for (const text of plan.texts) into.append(svg("text", { "class": "ts-sketch-text", "x": text.x, "y": text.y, "text-anchor": text.anchor, "text": text.text }));
  return drawn;
}

function pipes(into, plan) {
  const line = (kind, points) => {
    const d = bentPath(points.map(([x, y]) => ({ x, y })), 8);
    into.append(svg("path", { class: `ts-pipe ts-pipe-wall`, d }), svg("path", { class: `ts-pipe ts-pipe-${kind}`, d }));
  };
  if (plan.duct) {
    const { x, y, w, h } = plan.duct;
    into.append(svg("path", { class: "ts-duct", d: `M${x} ${y + h}V${y}H${x + w}V${y + h}` }));
  }
  for (const part of plan.parts.filter((p) => p.role === "hose")) {
    const [[x1, y1], [x2, y2]] = [part.from, part.to];
    const d = `M${x1} ${y1}C${part.turn + 20} ${y1} ${part.turn + 14} ${y1 + 30} ${part.turn} ${(y1 + y2) / 2}S${part.turn - 16} ${y2} ${x2} ${y2}`;
    into.append(svg("path", { class: "ts-hose-wall", d }), svg("path", { class: "ts-hose", d }));
  }
  for (const { kind, points } of plan.pipes) line(kind, points);
  for (const { x, y, dx, kind, text, anchor } of plan.stubs) {
    line(kind, [[x, y], [x + dx, y]]);
    if (text) into.append(svg("text", { "class": "ts-sketch-text", "x": x + dx + Math.sign(dx) * 6, "y": y + 4, "text-anchor": anchor, text }));
  }
}

function jacket(into, plan, drawn) {
  const { tank } = plan;
  const box = (name, b, rx) => svg("rect", { class: name, x: b.x, y: b.y, width: b.w, height: b.h, rx });
  into.append(box("ts-jacket", plan.jacket, 10));
  drawn.inside = svg("g", { class: "ts-inside" });
  const wet = svg("g", { class: "ts-wet" }); // the style sheet rounds it off like the tank
  drawn.water = svg("g", { class: "ts-water" });
  drawn.layers = svg("g");
  drawn.sediment = box("ts-sediment", { x: tank.x, y: tank.y + tank.h - 1, w: tank.w, h: 1 }, 0);
  drawn.sediment.style.transformOrigin = `0 ${tank.y + tank.h}px`;
  drawn.water.style.transformOrigin = `0 ${tank.y + tank.h}px`;
  drawn.water.append(drawn.layers);
  wet.append(box("ts-air", tank, 0), drawn.water, drawn.sediment);
  drawn.heats = (plan.elements || []).map((e) => {
    const turns = 6;
    const step = (e.x1 - 18 - e.x2) / turns;
    let d = `M${e.x1} ${e.y - 5}H${e.x2}q-9 0-9 6t9 6H${e.x1}`;
    for (let i = 1; i < turns; i += 1) d += `M${e.x2 + i * step} ${e.y - 5}v12`;
    const node = svg("path", { class: "ts-element-in", d });
    return { part: e.part, node };
  });
  drawn.inside.append(wet, ...drawn.heats.map((h) => h.node));
  if (plan.rod) rodIn(drawn, plan.rod);
  drawn.temperature = svg("text", { "class": "ts-sketch-text ts-warmth", "x": tank.x + tank.w / 2, "y": tank.y + 34, "text-anchor": "middle" });
  drawn.bottomText = svg("text", { "class": "ts-sketch-text", "x": tank.x + tank.w / 2, "y": tank.y + 52, "text-anchor": "middle" });
  drawn.inside.append(drawn.temperature, drawn.bottomText, box("ts-tank-wall", tank, 26));
  // The closed jacket: what is known of the water stands beside a plain gauge.
  const gauge = { x: tank.x + 18, y: tank.y + 26, w: 12, h: tank.h - 52 };
  drawn.closed = svg("g", { class: "ts-closed" });
  drawn.level = box("ts-level", gauge, 3);
  drawn.level.style.transformOrigin = `0 ${gauge.y + gauge.h}px`;
  drawn.levelText = svg("text", { "class": "ts-sketch-text", "x": gauge.x + 22, "y": gauge.y + 12 });
  drawn.closed.append(box("ts-jacket-face", tank, 26), drawn.level, box("ts-level-frame", gauge, 3), drawn.levelText,
    svg("text", { "class": "ts-sketch-text ts-quieter", "x": gauge.x + 22, "y": gauge.y + 30, "text": "tank in its jacket" }));
  into.append(drawn.inside, drawn.closed);
}

// The rod at its share of its new thickness; the wire inside shows where the metal is gone.
function rodIn(drawn, rod) {
  const metal = svg("rect", { class: "ts-rod", x: rod.x - rod.w, y: rod.y - rod.h / 2, width: rod.w, height: rod.h, rx: 4 });
  const core = svg("rect", { class: "ts-rod-core", x: rod.x - rod.w, y: rod.y - 1.5, width: rod.w, height: 3 });
  metal.style.transformOrigin = `0 ${rod.y}px`;
  drawn.rod = { metal, core };
  drawn.inside.append(core, metal);
}

function burnerBay(into, plan, drawn) {
  const { bay, tube } = plan;
  const group = svg("g", { class: "ts-bay" }, svg("rect", { class: "ts-bay-box", x: bay.x, y: bay.y, width: bay.w, height: bay.h, rx: 6 }));
  const hasBurner = plan.of("burner").length > 0;
  group.append(svg("path", { class: "ts-pipe ts-pipe-wall", d: `M${plan.left - 10} ${tube.y}H${tube.x1 + 4}` }), svg("path", { class: "ts-pipe ts-pipe-gas", d: `M${plan.left - 10} ${tube.y}H${tube.x1 + 4}` }));
  drawn.tube = svg("g", {}, svg("path", { class: "ts-tube", d: `M${tube.x1} ${tube.y - 5}h10l8-4H${tube.x2}v18H${tube.x1 + 18}l-8-4h-10z` }));
  const from = tube.x1 + 26;
  const step = (tube.x2 - 12 - from) / 6;
  const ports = Array.from({ length: 7 }, (_, i) => from + i * step);
  for (const x of ports) drawn.tube.append(svg("path", { class: "ts-port", d: `M${x - 3} ${tube.y - 9}h6` }));
  if (!hasBurner) group.append(svg("text", { "class": "ts-sketch-text ts-quieter", "x": (tube.x1 + tube.x2) / 2, "y": tube.y + 31, "text-anchor": "middle", "text": "burner tube" }));
  drawn.flame = makeFlame(tube);
  if (hasBurner) drawn.tubeCut = makeTubeCut(plan, ports);
  drawn.tube.append(...[drawn.tubeCut, drawn.flame.node].filter(Boolean));
  if (plan.duct) drawn.roof = makeChamberSoot(plan);
  group.append(...[drawn.roof, drawn.tube].filter(Boolean));
  const couple = plan.parts.find((p) => p.type === "thermocouple");
  drawn.pilot = makePilot(couple ? couple.x + 4 : tube.x1 + 12, tube.y - (couple ? 16 : 10));
  group.append(drawn.pilot);
  drawn.flameText = svg("text", { "class": "ts-sketch-text", "x": bay.x + bay.w - 10, "y": bay.y + bay.h - 10, "text-anchor": "end" });
  group.append(drawn.flameText);
  drawn.bay = group;
  into.append(group);
}

function bayCover(into, plan, drawn) {
  const { bay } = plan;
  const plate = svg("g", { class: "ts-bay-cover" }, svg("rect", { class: "ts-plate-face", x: bay.x, y: bay.y, width: bay.w, height: bay.h, rx: 6 }));
  for (const [dx, dy] of [[10, 10], [bay.w - 10, 10], [10, bay.h - 10], [bay.w - 10, bay.h - 10]]) plate.append(svg("circle", { class: "ts-cover-screw", cx: bay.x + dx, cy: bay.y + dy, r: 3.5 }));
  for (let i = 0; i < 4; i += 1) plate.append(svg("path", { class: "ts-louver", d: `M${bay.x + bay.w / 2 - 34} ${bay.y + bay.h - 40 + i * 8}h68` }));
  const words = ["Cover is on.", ...breakLines(bay.name, bay.w - 30, 12, true)];
  words.forEach((text, i) => plate.append(svg("text", { "class": "ts-sketch-text", "x": bay.x + bay.w / 2, "y": bay.y + 36 + i * 16, "text-anchor": "middle", text })));
  drawn.cover = plate;
  into.append(plate);
}

function onePart(into, part, view) {
  const node = svg("g", { class: `ts-sketch-part ts-sketch-${part.role}` });
  const mid = part.x + part.w / 2;
  const draw = { icon: symbol, bypass: symbol, cushion: symbol, valve: symbol, cock: symbol, regulator: symbol, orifice: symbol, pin: symbol, relief: symbol, anode: flange, element: flange, cylinder, flue }[part.role];
  if (draw) draw(node, part);
  if (part.label) {
    const { label } = part;
    const words = breakLines(part.name, label.room, SMALL);
    const up = label.above || (label.y < part.y && !label.inside) ? (words.length - 1) * 13 : 0;
    const text = svg("text", { "class": "ts-sketch-text ts-sketch-name", "x": label.x, "y": label.y - up, "text-anchor": label.anchor });
    words.forEach((word, i) => text.append(svg("tspan", { x: label.x, dy: i ? 13 : 0, text: word })));
    node.append(text);
  }
  const hand = view.switches.find((s) => s.id === part.id);
  const state = hand ? svg("text", { "class": "ts-sketch-text ts-sketch-state", "x": mid, "y": part.y + part.h + (part.label && part.label.y > part.y + part.h ? 22 : 12), "text-anchor": "middle" }) : null;
  into.append(node);
  return { node, state, part };
}

function symbol(node, part) {
  const s = Math.min(part.w / 40, part.h / 32);
  const g = svg("g", { transform: `translate(${part.x + part.w / 2 - 24 * s} ${part.y + part.h / 2 - 18 * s}) scale(${s})` });
  g.append(svg("path", { class: "ts-sketch-back", d: strokesOf(part.type) }), svg("path", { class: "ts-sketch-line", d: handleOf(part.type, "made") || strokesOf(part.type) }));
  node.append(g);
}

function flange(node, part) {
  const { x, y, h } = part;
  node.append(svg("path", { class: "ts-sketch-line ts-filled", d: `M${x + 8} ${y}h6v${h}h-6zM${x + 14} ${y + 8}h8M${x + 14} ${y + h - 8}h8` }));
}

function cylinder(node, part) {
  const { x, y, w, h } = part;
  node.append(svg("path", { class: "ts-sketch-line ts-filled", d: `M${x} ${y + 26}q0-18 ${w / 2}-18t${w / 2} 18V${y + h - 10}q0 10-10 10H${x + 10}q-10 0-10-10zM${x + w / 2 - 7} ${y + 8}v-12h14v12M${x + w / 2 - 14} ${y - 8}h28` }));
}

function flue(node, part) {
  const { x, y, w } = part;
  node.append(svg("path", { class: "ts-sketch-line ts-filled", d: `M${x - 4} ${y + 2}h${w + 8}v7h${-w - 8}zM${x + 4} ${y + 14}h${w - 8}M${x + 4} ${y + 20}h${w - 8}M${x + 4} ${y + 26}h${w - 8}` }));
}

// ---- what moves

export function patchSection(drawn, view, look) {
  const { plan } = drawn;
  const { scene } = view;
  const inside = look ? scene.inside : null;
  drawn.inside.style.display = inside ? "" : "none";
  drawn.closed.style.display = inside ? "none" : "";
  drawn.level.style.transform = `scaleY(${view.water ? view.water.fraction : 1})`;
  setText(drawn.levelText, view.water ? view.water.text : "");
  if (inside) patchInside(drawn, inside, scene);
  patchOpened(drawn, (inside || scene).looked_at || {});
  const open = new Map(view.places.map((p) => [p.id, p.open]));
  for (const { node, part } of drawn.parts.values()) node.style.display = part.always || open.get(part.place) !== false ? "" : "none";
  if (!plan.bay) return;
  const shut = plan.bay.cover && open.get(plan.bay.place) === false;
  drawn.cover.classList.toggle("ts-on", shut);
  drawn.bay.style.visibility = shut ? "hidden" : "";
  const flame = shut ? null : scene.flame;
  drawn.flame.update(flame);
  drawn.pilot.classList.toggle("ts-burns", Boolean(flame && flame.pilot));
  setText(drawn.flameText, flameWords(flame));
}

function patchInside(drawn, inside, scene) {
  const { tank } = drawn.plan;
  drawn.water.style.transform = `scaleY(${inside.fill})`;
  const n = inside.layers.length;
  while (drawn.layers.childNodes.length > n) drawn.layers.lastChild.remove();
  inside.layers.forEach((warm, i) => {
    let band = drawn.layers.childNodes[i];
    if (!band) {
      band = svg("rect", { class: "ts-layer-band" });
      drawn.layers.append(band);
    }
    for (const [key, value] of Object.entries({ x: tank.x, width: tank.w, y: tank.y + (i * tank.h) / n, height: tank.h / n + 0.5 })) setAttribute(band, key, value);
    band.style.fill = warmth(warm);
  });
  const range = inside.layers_read;
  setText(drawn.temperature, inside.fill < 0.02 ? "empty" : n > 1 ? `${range[0]} above, ${range[n - 1]} below` : range[0]);
  const mud = (inside.sediment || 0) * 1000;
  drawn.sediment.style.transform = `scaleY(${Math.min(60, mud * 3)})`;
  setText(drawn.bottomText, mud >= 0.5 ? `sediment, ${inside.sediment_read}` : "");
  for (const { part, node } of drawn.heats) node.classList.toggle("ts-hot", Boolean(inside.elements[part] && inside.elements[part].on));
  if (drawn.rod && inside.rod) {
    const whole = scene.measures.rod.radius;
    drawn.rod.metal.style.transform = `scaleY(${inside.rod.radius / whole})`;
    drawn.rod.metal.style.opacity = inside.rod.used >= 1 || inside.rod.radius <= 0 ? 0 : 1;
    drawn.rod.core.style.opacity = inside.rod.radius > 0 ? 1 : 0;
    drawn.rod.metal.classList.toggle("ts-skin", inside.rod.skin);
  }
}

// From cold over lukewarm to hot; the figure beside it says the temperature.
const WARMTH = [[5, "--ts-water-cold"], [40, "--ts-water-warm"], [58, "--ts-water-hot"], [80, "--ts-water-scald"]];

function warmth(celsius) {
  const k = Math.max(1, WARMTH.findIndex(([t]) => t >= celsius));
  const [low, high] = celsius >= 80 ? [WARMTH[2], WARMTH[3]] : [WARMTH[k - 1], WARMTH[k]];
  const share = Math.max(0, Math.min(1, (celsius - low[0]) / (high[0] - low[0])));
  return `color-mix(in oklab, var(${high[1]}) ${Math.round(100 * share)}%, var(${low[1]}))`;
}
