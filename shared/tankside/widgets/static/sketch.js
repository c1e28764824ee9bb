// Where the tank, the gas train and the water lines are drawn: worked out from the kinds of parts that a heater has.
// Three blocks (gas, heater, water) stand beside each other as far as the width goes, else below each other.
import { textWidth } from "./measure.js";
import { AT_THE_FLAME, GAS_LINE, GAS_VALVES, WATER_LINE } from "./kinds.js";

const BLOCK_GAP = 10;
const SIDE = 196; // width of the blocks beside the heater
const TOP = 78; // above the jacket: what stands on the tank
const TANK = 250;
const BAY = 150;

export function sketch(view, width) {
  const open = new Map(view.places.map((p) => [p.id, p.open]));
  const byType = new Map();
  for (const part of view.parts) byType.set(part.type, [...(byType.get(part.type) || []), { ...part, open: open.get(part.place) !== false }]);
  const of = (...types) => types.flatMap((type) => byType.get(type) || []);
  const out = { width, height: 0, parts: [], pipes: [], stubs: [], texts: [], of };
  if (!of("tank").length) return out;
  const gas = of(...GAS_LINE).length > 0;
  const water = of(...WATER_LINE).length > 0;
  const fire = of("burner", ...GAS_VALVES, ...AT_THE_FLAME).length > 0;
  const top = of("flue", "relief valve").length ? TOP : 16;
  out.top = top;
  const height = top + 12 + TANK + (fire ? BAY + 14 : 0) + 14;
  const rows = placeBlocks(width - 24, gas, water, height);
  for (const block of rows) block.x += 12;
  for (const block of rows) {
    if (block.name === "heater") heaterBlock(out, block, view, fire);
    out.height = Math.max(out.height, block.y + block.h);
  }
  for (const block of rows) {
    if (block.name === "gas") gasBlock(out, block);
    if (block.name === "water") waterBlock(out, block);
  }
  if (!water) for (const [y, text] of [[out.hot, "hot"], [out.cold, "cold"]]) stubPipe(out, out.right, y, text);
  if (!gas && fire && of(...GAS_VALVES).length) out.stubs.push({ x: out.left, y: out.gasAt, dx: -14, kind: "gas", text: "gas", anchor: "end" });
  return out;
}

function placeBlocks(width, gas, water, height) {
  const least = 250;
  const free = (n) => width - n * (SIDE + BLOCK_GAP);
  const blocks = [];
  const put = (name, x, y, w, h) => blocks.push({ name, x, y, w, h });
  if (gas && water && free(2) >= least) {
    const w = Math.min(free(2), 420);
    const x = (width - w - 2 * (SIDE + BLOCK_GAP)) / 2;
    put("gas", x, 0, SIDE, height);
    put("heater", x + SIDE + BLOCK_GAP, 0, w, height);
    put("water", x + SIDE + w + 2 * BLOCK_GAP, 0, SIDE, height);
  } else if ((gas || water) && free(1) >= least) {
    const first = gas ? "gas" : "water";
    const w = Math.min(free(1), 420);
    const x = (width - w - SIDE - BLOCK_GAP) / 2;
    put(first, first === "gas" ? x : x + w + BLOCK_GAP, 0, SIDE, height);
    put("heater", first === "gas" ? x + SIDE + BLOCK_GAP : x, 0, w, height);
    if (gas && water) put("water", x + SIDE + BLOCK_GAP, height + 8, Math.min(w, 300), 226);
  } else {
    const w = Math.min(width, 420);
    const x = (width - w) / 2;
    put("heater", x, 0, w, height);
    let y = height + 8;
    for (const name of [gas && "gas", water && "water"].filter(Boolean)) {
      put(name, (width - Math.min(width, 300)) / 2, y, Math.min(width, 300), 226);
      y += 234;
    }
  }
  return blocks;
}

function add(out, part, box, label) {
  out.parts.push({ id: part.id, type: part.type, name: part.name, place: part.place, open: part.open, ...box, label });
}

function heaterBlock(out, block, view, fire) {
  const { of } = out;
  const flue = of("flue")[0];
  const aside = of(...WATER_LINE).length ? 6 : 58;
  const jacket = { x: block.x + (of(...GAS_LINE).length ? 6 : 58), y: block.y + out.top, h: 12 + TANK + (fire ? BAY + 14 : 0) };
  jacket.w = block.x + block.w - aside - jacket.x;
  const duct = flue ? 34 : 0;
  const tank = { x: jacket.x + 12 + (duct ? duct + 10 : 0), y: jacket.y + 12, h: TANK - 12 };
  tank.w = jacket.x + jacket.w - 12 - tank.x;
  Object.assign(out, { jacket, tank, left: jacket.x, right: jacket.x + jacket.w, hot: tank.y + 26, cold: tank.y + tank.h * 0.47, heater: block });
  const [vessel] = of("tank");
  const wet = { x: tank.x, y: tank.y, w: tank.w, h: tank.h };
  add(out, vessel, { ...wet, role: "tank" }, null);
  out.parts[out.parts.length - 1].always = true;
  onTheTank(out, tank, view);
  if (flue) {
    const x = jacket.x + 12;
    out.duct = { x, w: duct, y: jacket.y - 24, h: jacket.h - (fire ? BAY - 10 : 0) + 20 };
    add(out, flue, { x: x - 2, y: jacket.y - 44, w: duct + 4, h: 40, role: "flue" }, { x: x + duct / 2 - 12, y: jacket.y - 50, anchor: "start", room: 90 });
  }
  if (fire) bay(out, jacket, view);
}

function onTheTank(out, tank, view) {
  const { of, jacket } = out;
  const { measures } = view.scene;
  const wide = measures.bottom ? Math.sqrt((4 * measures.bottom) / Math.PI) : Math.cbrt((4 * measures.volume) / Math.PI);
  of("anode").forEach((part, i) => {
    const y = tank.y + tank.h - 27 - i * 30;
    const long = measures.rod ? Math.min(0.9, measures.rod.length / wide) * tank.w : tank.w * 0.6;
    out.rod = { x: tank.x + tank.w, y, h: 18, w: Math.max(long, 50), part: part.id };
    add(out, part, { x: jacket.x + jacket.w - 14, y: y - 13, w: 26, h: 26, role: "anode" }, { x: tank.x + tank.w - 10, y: y - 15, anchor: "end", room: tank.w - 40, inside: true });
  });
  of("relief valve").forEach((part, i) => {
    const x = tank.x + tank.w * 0.72 - i * 50;
    out.relief = { x, y: jacket.y };
    add(out, part, { x: x - 21, y: jacket.y - 37, w: 44, h: 38, role: "relief" }, { x: x + 2, y: jacket.y - 44, anchor: "middle", room: 84 });
  });
  const elements = of("element");
  elements.forEach((part) => {
    const share = (measures.elements || {})[part.id] ?? 0.3;
    const y = tank.y + tank.h * (1 - share);
    out.elements = [...(out.elements || []), { part: part.id, y, x1: jacket.x + jacket.w - 2, x2: tank.x + tank.w * 0.2 }];
    add(out, part, { x: jacket.x + jacket.w - 16, y: y - 15, w: 26, h: 30, role: "element" }, { x: tank.x + tank.w - 10, y: y - 13, anchor: "end", room: 160, inside: true });
  });
}

function bay(out, jacket, view) {
  const { of } = out;
  const box = { x: jacket.x + 8, y: jacket.y + 12 + TANK, w: jacket.w - 16, h: BAY };
  const y = box.y + 84;
  const [valve] = of(...GAS_VALVES);
  const [orifice] = of("gas orifice");
  const [burner] = of("burner");
  const holder = burner || valve || of(...AT_THE_FLAME)[0];
  const place = view.places.find((p) => p.id === holder.place);
  out.bay = { ...box, place: place ? place.id : null, open: holder.open, cover: Boolean(place && place.cover), name: place ? place.name : "" };
  out.gasAt = y;
  let x = box.x + 12;
  if (valve) {
    add(out, valve, { x, y: y - 22, w: 40, h: 40, role: "valve" }, { x: x + 20, y: y + 31, anchor: "middle", room: 62 });
    x += 48;
  }
  if (orifice) {
    add(out, orifice, { x, y: y - 13, w: 26, h: 26, role: "orifice" }, { x: x + 13, y: y - 19, anchor: "middle", room: 56 });
    x += 30;
  }
  const tube = { x1: x + 6, x2: box.x + box.w - 14, y };
  out.tube = tube;
  if (burner) add(out, burner, { x: tube.x1, y: y - 12, w: tube.x2 - tube.x1, h: 26, role: "burner" }, { x: (tube.x1 + tube.x2) / 2, y: y + 31, anchor: "middle", room: 110 });
  const pins = of(...AT_THE_FLAME);
  pins.forEach((part, i) => {
    const at = tube.x2 - 24 - (pins.length - 1 - i) * Math.min(88, (tube.x2 - tube.x1 - 60) / Math.max(pins.length, 1));
    const longest = Math.max(...part.name.split(" ").map((word) => textWidth(word, 11.5)));
    add(out, part, { x: at - 20, y: y - 50, w: 40, h: 34, role: "pin" }, { x: Math.min(at, box.x + box.w - 5 - longest / 2), y: y - 56, anchor: "middle", room: 76 });
  });
}

function gasBlock(out, block) {
  const { of } = out;
  const beside = block.y === out.heater.y;
  const floor = beside ? block.y + block.h - 14 : block.y + block.h - 10;
  const exit = beside && out.gasAt ? out.gasAt : floor - 56;
  const up = floor - 168;
  const [cylinder] = of("gas cylinder");
  const [regulator] = of("gas regulator");
  const [hose] = of("gas hose");
  const [cock] = of("gas cock");
  const x = block.x;
  const end = x + block.w;
  const pipe = [];
  if (cylinder) {
    add(out, cylinder, { x: x + 4, y: floor - 142, w: 66, h: 142, role: "cylinder" }, { x: x + 37, y: floor - 68, anchor: "middle", room: 56, inside: true });
    pipe.push([x + 37, floor - 142], [x + 37, up]);
  }
  const reg = { x: x + 74, y: up };
  if (regulator) {
    add(out, regulator, { x: reg.x, y: up - 17, w: 34, h: 34, role: "regulator" }, { x: reg.x + 14, y: up - 24, anchor: "middle", room: 58 });
    pipe.push([reg.x + 17, up]);
  }
  if (pipe.length) out.pipes.push({ kind: "gas", points: pipe });
  const turn = x + 128;
  const cockAt = end - 44;
  if (hose) {
    add(out, hose, { x: turn - 16, y: up + 24, w: 32, h: Math.max(30, exit - up - 48), role: "hose", from: [reg.x + 34, up], to: [cock ? cockAt : end, exit], turn }, { x: turn + 2, y: up - 24, anchor: "start", room: 64, above: true });
  } else out.pipes.push({ kind: "gas", points: [[reg.x + 17, up], [turn, up], [turn, exit], [end, exit]] });
  if (cock) {
    add(out, cock, { x: cockAt - 4, y: exit - 18, w: 34, h: 32, role: "cock" }, { x: cockAt + 12, y: exit + 28, anchor: "middle", room: 72 });
    out.pipes.push({ kind: "gas", points: [[cockAt + 28, exit], [beside ? out.left + 10 : end, exit]] });
  }
  if (!beside) {
    out.texts.push({ x: end, y: exit - 24, anchor: "end", text: "to the heater" });
    if (out.gasAt) out.stubs.push({ x: out.left + 8, y: out.gasAt, dx: -14, kind: "gas", text: "", anchor: "end" });
  }
}

function waterBlock(out, block) {
  const { of } = out;
  const beside = block.y === out.heater.y;
  const hot = beside ? out.hot : block.y + 50;
  const cold = beside ? out.cold : block.y + 142;
  const x = block.x;
  const start = beside ? out.right : x;
  const end = x + block.w;
  const tee = x + block.w * 0.46;
  out.pipes.push({ kind: "hot", points: [[start - (beside ? 10 : 0), hot], [end - 20, hot]] }, { kind: "cold", points: [[end, cold], [start - (beside ? 10 : 0), cold]] });
  for (const part of of("check valve")) add(out, part, { x: x + 22, y: hot - 17, w: 36, h: 32, role: "icon" }, { x: x + 40, y: hot - 24, anchor: "middle", room: 84 });
  for (const part of of("house taps")) add(out, part, { x: end - 46, y: hot - 18, w: 42, h: 36, role: "icon" }, { x: end - 2, y: hot - 26, anchor: "end", room: 84 });
  for (const part of of("cold inlet")) add(out, part, { x: end - 52, y: cold - 18, w: 38, h: 32, role: "icon" }, { x: end - 2, y: cold + 28, anchor: "end", room: 96 });
  for (const part of of("winter bypass")) {
    const y = (hot + cold) / 2;
    out.pipes.push({ kind: "bypass", points: [[tee, hot], [tee, cold]] });
    add(out, part, { x: tee - 18, y: y - 16, w: 36, h: 32, role: "bypass" }, { x: tee + 24, y, anchor: "start", room: end - tee - 26 });
  }
  for (const part of of("air cushion")) {
    out.pipes.push({ kind: "cold", points: [[x + 34, cold], [x + 34, cold + 22]] });
    add(out, part, { x: x + 16, y: cold + 18, w: 36, h: 38, role: "cushion" }, { x: x + 34, y: cold + 70, anchor: "middle", room: 72 });
  }
  if (!beside) {
    out.texts.push({ x: x + 2, y: hot - 8, anchor: "start", text: of("check valve").length ? "" : "from the tank" });
    for (const [y, text] of [[out.hot, "hot"], [out.cold, "cold"]]) stubPipe(out, out.right, y, text);
  }
}

function stubPipe(out, x, y, text) {
  out.stubs.push({ x: x - 10, y, dx: 26, kind: text, text, anchor: "start" });
}
