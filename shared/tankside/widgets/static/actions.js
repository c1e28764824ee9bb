// What hands can do, as plainly labelled buttons in groups, each with its minutes. What can't be done says why.
import { button, el, freshId, keyed, minutesText, setAttribute, setReason, setText } from "./dom.js";

const GROUPS = [
  ["Make safe and prove dead", ["lock out", "unlock", "prove meter", "prove dead"]],
  ["Switches", ["switch"]],
  ["Covers", ["open cover", "close cover"]],
  ["Conductors", ["lift lead", "land lead"]],
  ["Look and wait", ["look", "wait", "temperature", "run tap"]],
  ["Tank", ["drain", "fill"]],
  ["Repair and prove", ["repair", "prove operation"]],
];
const ELSEWHERE = new Set(["make safe", "zero leads"]);
const TIMED = { "wait": 600, "run tap": 30 };

export function makeActions({ onAction, onBlocked }) {
  const node = el("section", { "class": "ts-actions", "aria-label": "What you can do" });

  function update(view) {
    const rows = rowsOf(view);
    const named = GROUPS.map(([title, verbs]) => ({ title, rows: rows.filter((r) => verbs.includes(r.verb)) }));
    const known = new Set(GROUPS.flatMap(([, verbs]) => verbs));
    named.push({ title: "More", rows: rows.filter((r) => !known.has(r.verb) && !ELSEWHERE.has(r.verb)) });
    keyed(node, named.filter((g) => g.rows.length), (g) => g.title, makeGroup, (group, g) => keyed(group.lastChild, g.rows, (r) => r.key, makeRow, patchRow));
  }

  function makeGroup(group) {
    const id = freshId("group");
    return el("div", { "class": "ts-group", "role": "group", "aria-labelledby": id }, el("h4", { id, text: group.title }), el("div", { class: "ts-rows" }));
  }

  function makeRow(row) {
    const node = el("div", { class: "ts-row" });
    const act = button({ class: "ts-button" }, el("span", { class: "ts-what" }), el("span", { class: "ts-cost" }));
    act.addEventListener("click", () => {
      if (act.getAttribute("aria-disabled") === "true") return onBlocked(act.title);
      const extra = node.extra ? node.extra() : {};
      if (extra === null) return onBlocked("Choose what to do first.");
      onAction({ verb: node.now.verb, args: { ...node.now.args, ...extra } });
    });
    if (row.options) addChoice(node, row);
    if (row.most) addMinutes(node, row);
    node.append(act);
    return node;
  }

  function addChoice(node, row) {
    const id = freshId("choice");
    const select = el("select", { id, class: "ts-field" });
    select.addEventListener("change", () => patchRow(node, node.now));
    node.select = select;
    node.extra = () => (select.value ? { [node.now.argument]: select.value } : null);
    node.append(el("label", { for: id, class: "ts-hidden", text: row.choiceLabel }), select);
    if (row.options.every((o) => o.label.length < 40)) node.classList.add("ts-row-choice");
  }

  function addMinutes(node, row) {
    const id = freshId("minutes");
    const field = el("input", { id, type: "number", class: "ts-field ts-number", min: 1, max: row.most, step: 1, value: row.minutes });
    node.extra = () => ({ minutes: Number(field.value) });
    node.append(el("label", { for: id, class: "ts-minutes" }, el("span", { class: "ts-hidden", text: `${row.label}: ` }), "minutes"), field);
    node.classList.add("ts-row-minutes");
  }

  function patchRow(node, row) {
    node.now = row;
    const act = node.querySelector("button");
    let { minutes, why } = row;
    if (row.options) {
      keyed(node.select, [{ value: "", label: row.choiceLabel }, ...row.options], (o) => o.value, (o) => el("option", { value: o.value, text: o.label }), (option, o) => setText(option, o.label));
      const chosen = row.options.find((o) => o.value === node.select.value);
      if (chosen) minutes = chosen.minutes;
      why = why || (chosen ? chosen.why : `${row.choiceLabel} first.`);
    }
    setText(act.querySelector(".ts-what"), row.label);
    setText(act.querySelector(".ts-cost"), row.most ? "" : minutesText(minutes));
    setReason(act, why);
  }

  return { node, update };
}

// The actions with their targets. An action that the bench names without one gets the targets that the view shows.
export function rowsOf(view) {
  const stopped = view.stopped ? "The bench is stopped. Make safe first." : "";
  const costs = view.costs || {};
  const rows = view.actions.map((a) => ({ key: `${a.verb} ${JSON.stringify(a.args || {})}`, verb: a.verb, args: a.args || {}, label: a.label, minutes: a.minutes, most: a.args ? 0 : TIMED[a.verb], why: a.enabled ? "" : a.why || "not now" }));
  const told = new Set(view.actions.map((a) => a.verb));
  const add = (verb, key, row) => {
    if (!told.has(verb)) rows.push({ key: `${verb} ${key}`, verb, args: {}, minutes: costs[verb], why: stopped, ...row });
  };
  for (const s of view.switches) {
    const next = s.position === s.positions[0] ? s.positions[1] : s.positions[0];
    add("switch", s.id, { args: { part: s.id, position: next }, label: `${capital(s.name)} is ${s.position}: put it ${next}`, why: s.locked ? "Your lock is on it." : stopped });
  }
  for (const p of view.places.filter((place) => place.cover)) {
    const verb = p.open ? "close cover" : "open cover";
    add(verb, p.id, { args: { place: p.id }, label: `${p.open ? "Put the cover back" : "Take the cover off"}: ${p.name}` });
  }
  for (const w of view.wires.filter((wire) => wire.liftable)) {
    const verb = w.lifted ? "land lead" : "lift lead";
    add(verb, w.id, { args: { wire: w.id }, label: `${w.lifted ? "Put back" : "Lift"} ${w.id}, ${w.name}` });
  }
  const places = view.places.map((p) => ({ value: p.id, label: p.name, minutes: costs["prove dead"], why: p.open ? "" : "The cover is on." }));
  add("prove dead", "", { label: "Prove dead", argument: "place", choiceLabel: "Choose a place", options: places });
  if (view.remedies && view.remedies.length) {
    const remedies = view.remedies.map((r) => ({ value: r.id, label: `${r.name} (${minutesText(r.minutes)})`, minutes: r.minutes, why: "" }));
    add("repair", "", { label: "Do the repair", argument: "remedy", choiceLabel: "Choose a repair", options: remedies, minutes: undefined });
  }
  return rows;
}

function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
