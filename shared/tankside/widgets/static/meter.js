// The meter: a flat panel with its functions as a list, the reading in figures and in words, and its two leads.
import { button, el, freshId, keyed, minutesText, setAttribute, setReason, setText } from "./dom.js";
import { showUnit } from "./units.js";
import { makeFinder } from "./finder.js";

export function makeMeter({ onFunction, onActive, onTerminal, onRead, onZero, sound }) {
  const group = freshId("function");
  const digits = el("span", { class: "ts-digits" });
  const unit = el("span", { class: "ts-unit" });
  const note = el("span", { class: "ts-note" });
  const face = el("div", { class: "ts-display", "aria-hidden": "true" }, el("div", { class: "ts-figure" }, digits, unit), note);
  const spoken = el("p", { "class": "ts-hidden", "role": "status", "aria-live": "polite", "aria-atomic": "true" });
  const functions = el("fieldset", { class: "ts-functions" }, el("legend", { text: "Function" }));
  const choices = el("div", { class: "ts-function-list" });
  functions.append(choices);
  const leads = { red: makeLead("red"), black: makeLead("black") };
  const both = el("input", { type: "radio", name: `${group}-lead`, value: "both", onchange: () => onActive("both") });
  const read = button({ class: "ts-button ts-main", onclick: () => press(read, onRead) }, el("span", { class: "ts-what", text: "Read again" }), el("span", { class: "ts-cost" }));
  const zero = button({ class: "ts-button", onclick: () => press(zero, onZero) }, el("span", { class: "ts-what", text: "Zero the leads" }), el("span", { class: "ts-cost" }));
  const quiet = el("input", { type: "checkbox", checked: true, onchange: () => (sound.on = quiet.checked) });
  const jacks = {};
  for (const lead of ["red", "black"]) jacks[lead] = el("span", { "class": `ts-socket ts-socket-${lead}`, "aria-hidden": "true" });
  const node = el(
    "section", { "class": "ts-meter", "aria-label": "Multimeter" }, jacks.red, jacks.black,
    el("div", { class: "ts-meter-head" }, el("h3", { text: "Multimeter" }), el("label", { class: "ts-quiet" }, quiet, "sound")),
    face, spoken, functions,
    el("fieldset", { class: "ts-leads" }, el("legend", { text: "Lead in hand" }),
      el("label", { class: "ts-lead-both" }, both, el("span", { text: "both in turn: reads when both are on" })), leads.red.node, leads.black.node,
      el("p", { class: "ts-hint" }, "Press two terminals. ", el("kbd", { text: "R" }), " or ", el("kbd", { text: "B" }), " takes one lead alone: it reads at each terminal. ", el("kbd", { text: "L" }), " takes both.")),
    el("div", { class: "ts-meter-keys" }, read, zero),
  );
  const small = { digits: el("b"), unit: el("span", { class: "ts-unit-small" }), note: el("span") };
  const mini = el("div", { "class": "ts-mini", "aria-hidden": "true" }, small.digits, small.unit, small.note);
  const watch = new IntersectionObserver(([entry]) => mini.classList.toggle("ts-seen", entry.isIntersecting));
  watch.observe(face);
  let complain = () => {};

  function press(target, act) {
    if (target.getAttribute("aria-disabled") === "true") complain(target.title);
    else act();
  }

  function makeLead(lead) {
    const pick = el("input", { type: "radio", name: `${group}-lead`, value: lead, onchange: () => onActive(lead) });
    const finder = makeFinder({ label: `${lead} lead on`, onChoose: (terminal) => onTerminal(terminal.id, terminal.name, lead), onNothing: (typed) => complain(`No terminal is called “${typed}”. Type a part of its name, such as “outlet hot”.`) });
    finder.node.querySelector("label").classList.add("ts-hidden");
    const name = lead === "red" ? "Red" : "Black";
    const row = el("div", { "class": `ts-lead ts-lead-${lead}` },
      el("label", { class: "ts-lead-pick" }, pick, el("span", { "class": "ts-jack", "aria-hidden": "true", "text": name[0] }), name), finder.node);
    return { node: row, pick, finder };
  }

  function makeFunction(f) {
    const radio = el("input", { type: "radio", name: group, value: f.id, onchange: () => onFunction(f.id) });
    const symbol = el("span", { "class": "ts-symbol-word", "aria-hidden": "true" });
    showUnit(symbol, f.id);
    return el("label", { class: "ts-function" }, radio, symbol, el("span", { text: f.name }));
  }

  function update(view, state) {
    const { meter } = view;
    const reading = state.partly ? null : meter.reading;
    keyed(choices, meter.functions, (f) => f.id, makeFunction, (label, f) => {
      label.querySelector("input").checked = f.id === meter.function;
    });
    setText(digits, reading ? reading.digits : "– – –");
    showUnit(unit, reading ? (reading.unit === "V" ? reading.function || meter.function : reading.unit) : "");
    const sounds = Boolean(reading && meter.function === "continuity" && /sound/.test(reading.note));
    setText(note, sounds ? "sounds: there is a path" : reading ? reading.note : waitingFor(state));
    face.classList.toggle("ts-sounds", sounds);
    setText(small.digits, digits.textContent);
    showUnit(small.unit, unit.dataset.unit);
    setText(small.note, note.textContent);
    const words = reading ? reading.spoken : "";
    if (state.answered && words && state.changed) {
      setText(spoken, "");
      setText(spoken, `Reads ${words}`);
    } else if (!words) setText(spoken, "");
    if (sounds && state.changed) sound.beep();
    for (const lead of ["red", "black"]) {
      leads[lead].pick.checked = state.hand === lead;
      leads[lead].node.classList.toggle("ts-active", state.active === lead);
      leads[lead].finder.update(state.terminals, state.terminals.find((t) => t.id === state.leads[lead]));
    }
    both.checked = state.hand === "both";
    setText(read.querySelector(".ts-what"), state.partly && state.leads.red && state.leads.black ? "Read with these" : "Read again");
    setText(read.querySelector(".ts-cost"), minutesText((view.costs || {}).probe));
    setReason(read, state.stopped || (state.leads.red && state.leads.black ? "" : "Put both leads on terminals first."));
    const zeroing = view.actions.find((a) => a.verb === "zero leads");
    zero.hidden = !zeroing;
    if (zeroing) {
      setText(zero.querySelector(".ts-cost"), minutesText(zeroing.minutes));
      setReason(zero, zeroing.enabled ? "" : zeroing.why);
    }
  }

  return { node, mini, update, jacks, close: () => watch.disconnect(), onBlocked: (f) => (complain = f) };
}

function waitingFor({ leads, partly, active }) {
  if (leads.red && leads.black && partly) return `now the ${active} lead, or read`;
  if (leads.red && leads.black) return "press “Read again” to measure";
  if (leads.red) return "place the black lead";
  if (leads.black) return "place the red lead";
  return "place both leads";
}
