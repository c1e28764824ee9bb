// One bench on the screen: passes actions to Python one at a time, and what comes back to every panel.
import { makeActions } from "./actions.js";
import { el, setAttribute, setText } from "./dom.js";
import { makeHeater } from "./heater.js";
import { makeLeads } from "./leads.js";
import { makeLog } from "./log.js";
import { makeMeter } from "./meter.js";
import { makeOrder } from "./order.js";
import { arrangement, makePicture } from "./picture.js";
import { makeSound } from "./sound.js";
import { makeView } from "./steps.js";
import { makeStopPanel } from "./stop.js";
import { makeWireList } from "./wires.js";

const PATIENCE = 6000; // ms until we say that the notebook hasn't answered
const SOON = 250; // ms within which an answer comes; the pointer changes only after, because that styles the whole desk anew

export function makeDesk(model) {
  const sound = makeSound();
  // "hand" is which lead is walked: "both" in turn, which reads when both stand anew, or one, which reads at each step.
  const state = { hand: "both", active: "red", pending: {}, moved: new Set(), arranged: "", sizes: null, waiting: null, queue: [], answered: false };
  const own = Math.random().toString(36).slice(2, 10);
  let count = 0;

  const say = el("p", { "class": "ts-say", "role": "status", "aria-live": "polite" });
  const near = el("p", { "class": "ts-near", "aria-hidden": "true" }); // the same words where the hands are; read aloud once is enough
  const order = makeOrder();
  const stop = makeStopPanel({ onAction: act });
  const picture = makePicture({ onTerminal: place, onAction: (action) => (action.blocked ? tell(action.blocked) : act(action)) });
  const meter = makeMeter({
    sound,
    onFunction: (id) => act({ verb: "meter", args: { function: id } }),
    onActive: (hand) => choose(hand),
    onTerminal: place,
    onRead: () => probe(),
    onZero: () => act({ verb: "zero leads", args: {} }),
  });
  meter.onBlocked(tell);
  const actions = makeActions({ onAction: act, onBlocked: tell });
  const wires = makeWireList();
  const heater = makeHeater({ onTerminal: place, onAction: act, onBlocked: tell });
  heater.onLive(() => showLive());
  const log = makeLog();
  const root = el("div", { "class": "ts-root ts-bench", "data-lm-suppress-shortcuts": "true" });
  const leads = makeLeads(root);
  root.append(
    order.node, stop.node,
    el("div", { class: "ts-body" },
      el("div", { class: "ts-left" }, heater.node, el("details", { class: "ts-wiring", open: true }, el("summary", {}, el("h3", { text: "The wiring" })), picture.node, wires.node), meter.mini),
      el("div", { class: "ts-side" }, el("div", { class: "ts-follow" }, meter.node, say)),
      log.node,
      el("div", { class: "ts-hands" }, actions.node, near)),
    leads.node,
  );

  function tell(text, calm = true) {
    setText(say, "");
    setText(say, text);
    setText(near, text);
    near.classList.toggle("ts-calm", calm);
    say.classList.toggle("ts-calm", calm);
  }

  const shown = makeView(model, () => {
    count += 1;
    model.send({ id: `${own}-${count}`, whole: true });
  });

  function view() {
    return shown.now();
  }

  function leadsNow() {
    const { meter: shown } = view();
    return { red: state.pending.red || shown.red, black: state.pending.black || shown.black };
  }

  function choose(hand) {
    state.hand = hand;
    state.active = hand === "both" ? "red" : hand;
    render(false);
  }

  function place(terminal, name, lead = state.active) {
    state.pending[lead] = terminal;
    state.moved.add(lead);
    const now = leadsNow();
    const other = lead === "red" ? "black" : "red";
    if (now[other] && (state.moved.has(other) || state.hand === lead)) return probe();
    state.active = other;
    tell(`${lead === "red" ? "Red" : "Black"} lead on ${name}. Now the ${other} lead${now[other] ? ", or “Read with these”" : ""}.`);
    render(false);
  }

  function settle() {
    state.pending = {};
    state.moved.clear();
    state.active = state.hand === "both" ? "red" : state.hand;
  }

  function probe() {
    const { red, black } = leadsNow();
    act({ verb: "probe", args: { red, black } });
  }

  // One message for each action; the next one goes when the answer to the last has come.
  function act(action) {
    state.queue.push(action);
    send();
  }

  function send() {
    if (state.waiting || !state.queue.length) return;
    const { verb, args } = state.queue.shift();
    const lines = view().log;
    count += 1;
    const id = `${own}-${count}`;
    const patience = setTimeout(() => tell("The notebook has not answered yet. If it is busy, the action waits. If it was restarted, run the cells above again."), PATIENCE);
    const busy = setTimeout(() => root.classList.add("ts-busy"), SOON);
    root.dataset.busy = verb;
    state.waiting = { id, patience, busy, verb, sent: performance.now() };
    model.send({ id, verb, args, seen: lines.length ? lines[lines.length - 1].seq : -1 });
  }

  function answered() {
    shown.take();
    const answer = model.get("answer");
    if (answer && answer.id === "" && answer.text) tell(answer.text);
    if (!state.waiting || !answer || answer.id !== state.waiting.id) return;
    stopWaiting();
    const { verb, sent } = state.waiting;
    state.waiting = null;
    if (verb === "probe" || !answer.ok) settle();
    if (!answer.ok) state.queue = [];
    state.answered = true;
    render(answer.ok && (verb === "probe" || verb === "meter"));
    const words = answer.ok && verb === "probe" ? "" : answer.text; // the meter says its reading itself
    tell([words, answer.heed].filter(Boolean).join(" "), !answer.ok || Boolean(answer.heed));
    root.dataset.latency = (performance.now() - sent).toFixed(1);
    send();
  }

  function render(changed) {
    const now = view();
    const places = leadsNow();
    const stopped = now.stopped ? "The bench is stopped. Make safe first." : "";
    if (!state.sizes) measure();
    const { mode, columns, need } = arrangement(now, state.sizes.root);
    const arranged = `${mode} ${columns} ${need}`;
    if (arranged !== state.arranged) {
      state.arranged = arranged;
      root.dataset.mode = mode;
      root.dataset.columns = columns;
      root.style.setProperty("--ts-need", `${need}px`);
      measure();
    }
    order.update(now);
    stop.update(now);
    heater.update(now, places, state.sizes.heater);
    picture.update(now, places, mode === "wide", state.sizes.picture);
    meter.update(now, { leads: places, active: state.active, hand: state.hand, partly: state.moved.size > 0, terminals: terminalsOf(now), changed, answered: state.answered, stopped });
    actions.update(now, places);
    wires.update(now);
    log.update(now);
    setAttribute(root, "data-lead", state.active);
    showLive();
    requestAnimationFrame(cables);
  }

  // Widths are read when they may have changed, and kept: reading them at each action would lay the page out anew.
  function measure() {
    const before = JSON.stringify(state.sizes);
    state.sizes = { root: root.clientWidth, heater: heater.width(), picture: picture.width() };
    return JSON.stringify(state.sizes) !== before;
  }

  function showLive() {
    root.classList.toggle("ts-show-live", heater.live);
    wires.showLive(heater.live);
  }

  function cables() {
    const places = leadsNow();
    const beside = root.dataset.mode === "beside";
    const ends = {};
    for (const lead of ["red", "black"]) ends[lead] = places[lead] ? { from: meter.jacks[lead], to: picture.spotOf(places[lead]), out: beside ? "left" : "up" } : null;
    leads.draw(ends);
  }

  root.addEventListener("keydown", (event) => {
    event.stopPropagation(); // a notebook's own one-letter commands must not act on what is typed here
    if (event.ctrlKey || event.metaKey || event.altKey || /^(INPUT|SELECT|TEXTAREA)$/.test(event.target.tagName) && event.target.type !== "radio") return;
    const lead = { r: "red", b: "black", l: "both" }[event.key.toLowerCase()];
    if (lead) {
      event.preventDefault();
      choose(lead);
      tell(lead === "both" ? "Both leads, one after the other." : `${lead === "red" ? "Red" : "Black"} lead in hand: it reads at each terminal.`);
    }
  });

  function close() {
    sound.close();
    meter.close();
    if (state.waiting) stopWaiting();
  }

  function stopWaiting() {
    clearTimeout(state.waiting.patience);
    clearTimeout(state.waiting.busy);
    root.classList.remove("ts-busy");
    delete root.dataset.busy;
  }

  return { root, sheet: picture.node, heaterSheet: heater.sheet, take: shown.take, measure, render, answered, cables, waiting: () => Boolean(state.waiting), close };
}

function terminalsOf(view) {
  const all = view.parts.flatMap((p) => p.terminals.map((t) => ({ id: t.id, name: t.name, reachable: t.reachable })));
  for (const w of view.wires) {
    if (!w.lifted || !w.end) continue;
    const at = all.find((t) => t.id === (w.lifts_at === "from" ? w.from : w.to));
    all.push({ id: w.end.id, name: w.end.name, reachable: !at || at.reachable });
  }
  return all;
}
