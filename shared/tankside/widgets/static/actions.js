// What hands can do, as plainly labelled buttons in groups, each with its minutes. What can't be done says why.
import { makeColumns } from "./columns.js";
import { button, el, freshId, keyed, minutesText, setAttribute, setReason, setText } from "./dom.js";
import { markOf } from "./labels.js";

const GROUPS = [
  ["Make safe and prove dead", ["lock out", "unlock", "prove meter", "prove dead"]],
  ["Switches", ["switch"]],
  ["Covers", ["open cover", "close cover"]],
  ["Conductors", ["lift lead", "land lead"]],
  ["Look and wait", ["look", "wait", "temperature", "run tap", "tap test"]],
  ["Tank and water", ["drain", "fill", "shut-off test", "drain flow", "trace lines", "feel hot line", "catch drips", "water pressure", "cushion test", "lift relief lever", "water test", "feel jacket", "listen to tank", "relief on the stand", "look at check valve", "lamp in tank", "look at anode", "winterise"]],
  ["Other meters", ["clamp", "insulation test"]],
  ["Gas and flame", ["sniff", "room air", "weigh cylinder", "gas pressure", "soap test", "leak test", "inspect", "look at flame", "flue gas", "altitude", "light", "light pilot", "thermocouple test"]],
  ["Ignition", ["watch start", "gap gauge", "board test", "bubble test"]],
  ["Repair and prove", ["repair", "prove operation"]],
];
const ELSEWHERE = new Set(["make safe", "zero leads"]);
const TIMED = { "wait": 600, "run tap": 30 };

export function makeActions({ onAction, onBlocked }) {
  const node = el("section", { "class": "ts-actions", "aria-label": "What you can do" });
  const arrangeGroups = makeColumns(node, 240, 18, ({ rows }) => 38 + rows.reduce((sum, row) => sum + (row.options ? 74 : 38), 0));

  function update(view, leads) {
    const rows = rowsOf(view, leads);
    const named = GROUPS.map(([title, verbs]) => ({ title, rows: rows.filter((r) => verbs.includes(r.verb)) }));
    const known = new Set(GROUPS.flatMap(([, verbs]) => verbs));
    named.push({ title: "More", rows: rows.filter((r) => !known.has(r.verb) && !ELSEWHERE.has(r.verb)) });
    arrangeGroups(named.filter((g) => g.rows.length), (g) => g.title, makeGroup, (group, g) => keyed(group.lastChild, g.rows, (r) => r.key, makeRow, patchRow));
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
    // An empty field is no number of minutes, rather than 0: the bench then asks how many.
    node.extra = () => (field.value.trim() === "" ? {} : { minutes: Number(field.value) });
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
      if (chosen && chosen.minutes !== undefined) minutes = chosen.minutes;
      why = why || (chosen ? chosen.why : `${row.choiceLabel} first.`);
    }
    setText(act.querySelector(".ts-what"), row.label);
    setText(act.querySelector(".ts-cost"), row.most ? "" : minutesText(minutes));
    setReason(act, why);
  }

  return { node, update };
}

// The actions with their targets. An action in the view may carry its own: ``args``; or ``argument`` and ``options``
// (id, name, why, minutes) to choose from; ``leads`` if it acts between the meter's two leads. Actions on covers,
// switches, conductors, places and gas points, which the view names elsewhere, are added.
export function rowsOf(view, leads) {
  const stopped = view.stopped ? "The bench is stopped. Make safe first." : "";
  const costs = view.costs || {};
  const rows = view.actions.map((a) => ({ key: `${a.verb} ${JSON.stringify(a.args || {})}`, verb: a.verb, args: a.args || {}, label: a.label, minutes: a.minutes, most: a.args ? 0 : TIMED[a.verb], why: a.enabled ? "" : a.why || "not now", at: a.at || [] }));
  view.actions.forEach((a, i) => {
    if (a.options) Object.assign(rows[i], choice(a.argument, a.choose || "Choose one", a.options));
    if (a.leads) {
      rows[i].args = { ...rows[i].args, ...leads };
      rows[i].key = `${a.verb} ${JSON.stringify(a.args || {})} between leads`;
      if (!leads.red || !leads.black) rows[i].why = rows[i].why || "Put both leads on terminals first.";
    }
  });
  const told = new Set(view.actions.map((a) => a.verb));
  const add = (verb, key, row) => {
    if (!told.has(verb)) rows.push({ key: `${verb} ${key}`, verb, args: {}, minutes: costs[verb], why: stopped, at: [], ...row });
  };
  for (const s of view.switches) {
    const next = s.position === s.positions[0] ? s.positions[1] : s.positions[0];
    if (s.position === null) continue; // behind a closed cover
    add("switch", s.id, { at: [s.id], args: { part: s.id, position: next }, label: next === "out" ? `Pull the plug: ${s.name}` : next === "in" ? `Plug in: ${s.name}` : `${capital(s.name)} is ${s.position}: put it ${next}`, why: s.locked ? "Your lock is on it." : stopped });
  }
  for (const p of view.places.filter((place) => place.cover)) {
    const verb = p.open ? "close cover" : "open cover";
    add(verb, p.id, { args: { place: p.id }, label: `${p.open ? "Put the cover back" : "Take the cover off"}: ${p.name}` });
  }
  for (const w of view.wires.filter((wire) => wire.liftable)) {
    const verb = w.lifted ? "land lead" : "lift lead";
    add(verb, w.id, { at: [partOf(w.lifts_at === "from" ? w.from : w.to)], args: { wire: w.id }, label: `${w.lifted ? "Put back" : "Lift"} ${markOf(w)}, ${w.name}` });
  }
  const places = view.places.filter((p) => p.provable !== false).map((p) => ({ id: p.id, name: p.name, why: p.open ? "" : "The cover is on." }));
  if (view.wires.length) add("prove dead", "", { label: "Prove dead", ...choice("place", "Choose a place", places) });
  if (view.remedies && view.remedies.length) {
    const remedies = view.remedies.map((r) => ({ ...r, name: `${r.name} (${minutesText(r.minutes)})` }));
    add("repair", "", { label: "Do the repair", ...choice("remedy", "Choose a repair", remedies), minutes: undefined });
  }
  if (view.gas) addGas(view.gas, add);
  return rows;
}

function addGas(gas, add) {
  if (gas.sniff) add("sniff", "", { label: "Smell for gas", ...choice("place", "Choose a place", gas.sniff) });
  if (gas.taps) {
    add("gas pressure", "", { label: "Gas pressure", ...choice("tap", "Choose a test tap", gas.taps) });
    add("gas pressure", "drawn", { args: { draw: "yes" }, label: "Gas pressure, gas led outdoors", ...choice("tap", "Choose a test tap", gas.taps) });
  }
  if (gas.joints) add("soap test", "", { label: "Soap test", ...choice("part", "Choose a joint", gas.joints.map((j) => ({ ...j, part: j.id }))) });
  if (gas.inspect) add("inspect", "", { label: "Look closely", ...choice("part", "Choose a part", gas.inspect.map((part) => ({ ...part, part: part.id, name: part.apart ? `${part.name} (taken out)` : part.name }))) });
}

function choice(argument, choiceLabel, options) {
  return { argument, choiceLabel, options: options.map((o) => ({ value: o.id, label: o.name, minutes: o.minutes, why: o.why || "", at: o.parts || (o.part ? [o.part] : []) })) };
}

function partOf(terminal) {
  return terminal.split(".")[0];
}

function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
