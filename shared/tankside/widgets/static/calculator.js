// A calculator: number fields with a slider each, and rows that Python works out.
import { el, freshId, keyed, setAttribute, setText } from "./dom.js";
import { followTheme } from "./theme.js";

function render({ model, el: host }) {
  const fields = new Map();
  const inputs = el("div", { class: "ts-inputs" });
  const results = el("dl", { class: "ts-results" });
  const said = el("p", { "class": "ts-hidden", "role": "status", "aria-live": "polite" });
  const root = el("section", { "class": "ts-root ts-calculator", "aria-label": model.get("name"), "data-lm-suppress-shortcuts": "true" }, inputs, results, said);
  let sent = 0;
  let wanted = 0;
  let busy = false;

  for (const field of model.get("fields")) {
    const id = freshId("field");
    const label = el("label", { for: id, text: field.label });
    if (field.choices) {
      const picked = el("select", { id, class: "ts-field" }, ...field.choices.map(([value, words]) => el("option", { value, text: words })));
      picked.value = field.start;
      picked.addEventListener("change", ask);
      // The choice as it was given, not as a page keeps it: there every value is text, and Python would not know it.
      fields.set(field.id, { value: () => field.choices[picked.selectedIndex][0] });
      inputs.append(el("div", { class: "ts-input" }, label, picked));
      continue;
    }
    const number = el("input", { id, "type": "number", "class": "ts-field ts-number", "min": field.low, "max": field.high, "step": "any", "inputmode": "decimal", "aria-describedby": `${id}-wrong` });
    const slider = el("input", { type: "range", min: field.low, max: field.high, step: field.step, "aria-label": `${field.label}, slider` });
    const wrong = el("p", { id: `${id}-wrong`, class: "ts-wrong" });
    number.value = slider.value = field.start;
    number.addEventListener("input", () => {
      if (number.value !== "") slider.value = number.value;
      ask();
    });
    slider.addEventListener("input", () => {
      number.value = slider.value;
      ask();
    });
    fields.set(field.id, { number, wrong, value: () => (number.value.trim() === "" ? null : Number(number.value)) });
    inputs.append(el("div", { class: "ts-input" }, label, el("span", { class: "ts-number-box" }, number, el("span", { text: field.unit })), slider, wrong));
  }

  // While an answer is under way only the newest wish is kept.
  function ask() {
    wanted += 1;
    if (busy) return;
    busy = true;
    sent = wanted;
    const values = {};
    for (const [id, { value }] of fields) values[id] = value();
    model.send({ id: sent, values });
  }

  function update() {
    const { rows, problems, id } = model.get("result");
    if (id !== undefined && id !== null) {
      busy = false;
      if (wanted > sent) return ask();
    }
    for (const [key, { number, wrong }] of fields) {
      if (!number) continue;
      setText(wrong, problems[key] || "");
      setAttribute(number, "aria-invalid", problems[key] ? "true" : null);
    }
    results.classList.toggle("ts-stale", rows.length === 0);
    if (rows.length) keyed(results, rows, (row) => row.group || `${groupOf(rows, row)} ${row.label}`, makeRow, patchRow);
    setText(said, rows.filter((row) => row.label).map((row) => `${row.label}: ${row.text}`).join(". "));
  }

  root.addEventListener("keydown", (event) => event.stopPropagation());
  const stopTheme = followTheme(root, host);
  host.append(root);
  model.on("change:result", update);
  update();
  return () => {
    model.off("change:result", update);
    stopTheme();
  };
}

function groupOf(rows, row) {
  return rows.slice(0, rows.indexOf(row)).filter((r) => r.group).pop().group;
}

function makeRow(row) {
  if (row.group) return el("div", { class: "ts-result-group" }, el("dt", { text: row.group }), el("dd", { class: "ts-hidden", text: "follows" }));
  return el("div", { class: "ts-result" }, el("dt", { text: row.label }), el("dd", { class: "ts-value" }), el("dd", { class: "ts-how" }));
}

function patchRow(node, row) {
  if (row.group) return;
  setText(node.children[1], row.text);
  setText(node.children[2], row.how);
  setAttribute(node, "data-mark", row.mark || null);
}

export default { render };
