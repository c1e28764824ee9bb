// The heater as a picture: in section or closed, with its places and covers below, and the part that is in hand.
import { button, el, keyed, setAttribute, setText, svg } from "./dom.js";
import { makeCard } from "./card.js";
import { makeDoors } from "./doors.js";
import { flameWords } from "./flame.js";
import { drawSection, patchSection } from "./section.js";
import { sketch } from "./sketch.js";
import { rowsOf } from "./actions.js";
import { makeTakenOut } from "./takenout.js";

export function makeHeater({ onTerminal, onAction, onBlocked }) {
  const drawing = svg("svg", { class: "ts-section", "aria-hidden": "true", "focusable": "false" });
  const layer = el("div", { class: "ts-layer" });
  const stage = el("div", { "class": "ts-heater-stage", "role": "group", "aria-label": "The heater. Arrow keys walk from part to part." }, drawing, layer);
  const words = el("p", { class: "ts-hidden" });
  const look = el("input", { type: "checkbox", onchange: () => redraw() });
  const live = el("input", { type: "checkbox", onchange: () => redraw() });
  const tools = el("div", { class: "ts-practice-tools", hidden: true }, el("label", {}, look, "look inside"), el("label", {}, live, "show what is live"), el("span", { class: "ts-hint", text: "practice only" }));
  const takenOut = makeTakenOut();
  const doors = makeDoors({ onPick: pick, onAction: (action) => (action.blocked ? onBlocked(action.blocked) : onAction(action)) });
  const card = makeCard({ onTerminal, onAction, onBlocked, onClose: () => pick(null) });
  const summary = el("summary", {}, el("h3", { text: "The heater" }));
  const node = el("details", { class: "ts-heater", open: true }, summary, el("div", { class: "ts-heater-head" }, tools), words,
    el("div", { class: "ts-heater-body" }, el("div", {}, el("div", { class: "ts-heater-sheet" }, stage), takenOut.node), el("div", {}, card.node, doors.node)));
  let picked = null;
  let drawn = null;
  let key = "";
  let last = null;
  let current = null;
  let onLive = () => {};

  function pick(id) {
    picked = id === picked ? null : id;
    redraw();
    if (picked) card.focus();
  }

  function redraw() {
    if (last) update(last[0], last[1], width());
    onLive(live.checked);
  }

  stage.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    const stops = [...layer.querySelectorAll("button")];
    const here = stops.indexOf(document.activeElement);
    const next = step && here >= 0 ? stops[(here + step + stops.length) % stops.length] : { Home: stops[0], End: stops[stops.length - 1] }[event.key];
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
  stage.addEventListener("focusin", (event) => {
    if (event.target.dataset.part) rove(event.target.dataset.part);
  });
  node.addEventListener("toggle", redraw);

  function rove(part) {
    current = part || current;
    const stops = [...layer.querySelectorAll("button")];
    const chosen = stops.find((stop) => stop.dataset.part === current) || stops[0];
    for (const stop of stops) setAttribute(stop, "tabindex", stop === chosen ? "0" : "-1");
  }

  function width() {
    return Math.floor(stage.parentElement.clientWidth);
  }

  function update(view, leads, wide) {
    last = [view, leads, wide];
    tools.hidden = !view.scene || !view.scene.practice;
    if (!view.scene) return;
    doors.update(view, picked);
    takenOut.update(view, look.checked ? view.scene.inside : null);
    card.update(view, picked, rowsOf(view, leads));
    if (wide < 50) return; // folded away
    const wanted = JSON.stringify([wide, view.scene.measures, view.places.map((p) => p.id), view.parts.map((p) => [p.id, p.name, p.type, p.place])]);
    if (wanted !== key) {
      const plan = sketch(view, wide);
      for (const [name, value] of Object.entries({ viewBox: `0 0 ${plan.width} ${plan.height}`, width: plan.width, height: plan.height })) setAttribute(drawing, name, value);
      [stage.style.width, stage.style.height] = [`${plan.width}px`, `${plan.height}px`];
      drawn = plan.tank ? drawSection(drawing, plan, view) : null;
    }
    key = wanted;
    if (!drawn) return;
    patchSection(drawn, view, look.checked);
    const open = new Map(view.places.map((p) => [p.id, p.open]));
    const stops = drawn.plan.parts.filter((p) => p.always || open.get(p.place) !== false);
    keyed(layer, stops, (p) => p.id, makeStop, patchStop);
    rove(null);
    setText(words, [flameWords(view.scene.flame), view.water ? `tank ${view.water.text}` : ""].filter(Boolean).join("; "));
  }

  function makeStop(part) {
    const target = button({ "class": "ts-stop ts-stop-part", "data-part": part.id, "tabindex": "-1" }, el("span", { class: "ts-hidden ts-name", text: part.name }));
    target.addEventListener("click", () => pick(part.id));
    return target;
  }

  function patchStop(target, part) {
    const [w, h] = [Math.max(part.w, 26), Math.max(part.h, 26)];
    Object.assign(target.style, { left: `${part.x + part.w / 2}px`, top: `${part.y + part.h / 2}px`, width: `${w}px`, height: `${h}px` });
    setAttribute(target, "aria-pressed", part.id === picked ? "true" : "false");
    setAttribute(target, "title", part.name);
  }

  return { node, sheet: stage.parentElement, width, update, onLive: (f) => (onLive = f), get live() { return live.checked && !tools.hidden; } };
}
