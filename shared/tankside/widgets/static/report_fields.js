// The fields of the service report, made from what the lab asks for. Each says in place what is wrong with it.
import { button, el, freshId, keyed, setAttribute, setText } from "./dom.js";
import { makePickList } from "./picklist.js";

const MOST_TYPED = 400;

export function makeField(spec, number, send, tell) {
  const id = freshId("field");
  const wrong = el("p", { id: `${id}-wrong`, class: "ts-field-wrong", hidden: true });
  const differs = el("p", { class: "ts-differs", hidden: true });
  const title = { figure: figureField, pick: spec.each ? picksField : pickField, lines: linesField, ticks: ticksField }[spec.kind];
  const inner = title(spec, id, (rest) => {
    const size = (rest.text || "").length + (rest.number || "").length;
    if (size <= MOST_TYPED) return send({ do: "answer", label: spec.label, ...rest });
    tell(`That is ${size.toLocaleString("en")} characters. This field takes ${MOST_TYPED}. It was left as it was before.`, true);
    inner.undo();
  });
  const label = inner.group
    ? el("p", { "class": "ts-field-title", "id": `${id}-title` })
    : el("label", { "class": "ts-field-title", "for": inner.control.id });
  label.append(el("span", { "class": "ts-field-number", "aria-hidden": "true", "text": String(number) }), spec.title);
  const node = el("div", { "class": `ts-report-field ts-report-${spec.kind}`, "data-label": spec.label }, label, inner.node, wrong, differs);
  if (inner.group) {
    setAttribute(node, "role", "group");
    setAttribute(node, "aria-labelledby", `${id}-title`);
  }
  let urged = "";

  return {
    node,
    label: spec.label,
    focus: () => inner.control.focus(),
    urge(text) {
      urged = text;
    },
    update(value, log) {
      inner.update(value, log);
      if (value.problem) urged = "";
      const text = value.problem || (value.text && urged === "not answered." ? "" : urged);
      const said = capitalOf(text);
      wrong.hidden = !said;
      setText(wrong, said);
      setAttribute(inner.control, "aria-invalid", said ? "true" : null);
      setAttribute(inner.control, "aria-describedby", said ? wrong.id : null);
      node.classList.toggle("ts-bad", Boolean(said));
      node.classList.toggle("ts-answered-field", Boolean(value.text) && !said);
      differs.hidden = !value.cell;
      setText(differs, value.cell ? `The answers cell in the notebook says “${value.cell}”, and the cell counts. To let this field count, blank that line in the cell and run it.` : "");
    },
  };
}

function figureField(spec, id, write) {
  const number = el("input", { id, type: "text", inputmode: "decimal", class: "ts-field ts-measure", autocomplete: "off", spellcheck: "false", placeholder: "0.0" });
  const unit = el("select", { "class": "ts-field ts-unit-pick", "aria-label": `Unit of ${spec.title}` },
    el("option", { value: "", text: "unit" }), ...spec.units.map(([value, text]) => el("option", { value, text })));
  let last = { number: "", unit: "" };
  const save = () => {
    takeUnit();
    const now = { number: number.value, unit: unit.value };
    shade();
    if (now.number === last.number && now.unit === last.unit) return;
    write(now);
  };
  // A unit typed behind the number goes into the list: said twice, it couldn't be read.
  function takeUnit() {
    const [, figure, word] = number.value.trim().match(/^(.*\d)\s*([^\d\s.,].*)$/) || [];
    if (!word) return;
    const fits = (same) => spec.units.filter((names) => names.some((name) => same(name)));
    const exact = fits((name) => name === word);
    const found = exact.length ? exact : fits((name) => name.toLowerCase() === word.toLowerCase());
    if (found.length !== 1) return;
    number.value = figure;
    [unit.value] = found[0];
  }
  function shade() {
    number.readOnly = ["open", "none", "over range"].includes(unit.value);
    number.classList.toggle("ts-idle", number.readOnly);
    if (number.readOnly) number.value = "";
  }
  number.addEventListener("change", save);
  unit.addEventListener("change", () => {
    if (unit.value) number.value = number.value.replace(/(\d)\s*[A-DF-Za-df-zµΩ°%].*$/, "$1"); // the list has the word now
    save();
  });
  return {
    control: number,
    node: el("div", { class: "ts-measure-row" }, number, unit),
    undo: () => {
      number.value = last.number;
      unit.value = last.unit;
    },
    update(value) {
      const same = value.number === last.number && value.unit === last.unit;
      last = { number: value.number, unit: value.unit };
      if (same || document.activeElement === number) return;
      number.value = value.number;
      if (value.text) unit.value = value.unit;
      shade();
    },
  };
}

function pickField(spec, id, write) {
  const pick = makePickList({ label: spec.title, onPick: (text) => write({ text }) });
  pick.fill(spec.options);
  let last = "";
  return {
    control: pick.field,
    node: pick.node,
    undo: () => {
      pick.field.value = last;
      pick.update(last);
    },
    update(value) {
      last = value.text;
      pick.update(value.text);
    },
  };
}

// Two names, one below the other, that are kept as one answer with a semicolon between.
function picksField(spec, id, write) {
  let last = [];
  let held = [];
  const picks = spec.each.map((word, i) => {
    const pick = makePickList({ label: `${spec.title}, the ${word}`, onPick: (text) => take(i, text) });
    pick.fill(spec.options);
    setAttribute(pick.field, "aria-label", `The ${word}`);
    pick.field.placeholder = `the ${word}: type a part of its name`;
    return pick;
  });
  function take(i, text) {
    held = picks.map((_, k) => (k === i ? text : held[k] || "")); // the second may be picked before the first is kept
    write({ text: held.filter(Boolean).join("; ") });
  }
  function show(parts) {
    last = held = parts;
    picks.forEach((pick, i) => pick.update(parts[i] || ""));
  }
  return {
    group: true,
    control: picks[0].field,
    node: el("div", { class: "ts-two-picks" }, ...picks.map((pick) => pick.node)),
    undo: () => {
      picks.forEach((pick, i) => {
        pick.field.value = last[i] || "";
      });
      show(last);
    },
    update: (value) => show(value.parts),
  };
}

function linesField(spec, id, write) {
  const chips = el("ul", { class: "ts-cited" });
  const none = el("p", { id, class: "ts-hint", tabindex: "-1", text: "Tick lines in the bench log." });
  let lines = [];
  return {
    group: true,
    control: none,
    node: el("div", {}, none, chips),
    undo: () => {},
    update(value, log) {
      lines = value.lines;
      setText(none, lines.length ? "From the bench log. Few and good beats many." : value.text ? `“${value.text}”` : "Tick lines in the bench log.");
      keyed(chips, lines, (n) => n, (n) => el("li", { class: "ts-cited-line" },
        el("b", { text: String(n) }), el("span", { class: "ts-cited-text" }),
        button({ "class": "ts-cited-off", "aria-label": `Don't cite line ${n}`, "onclick": () => write({ lines: lines.filter((m) => m !== n) }) }, "×")),
      (chip, n) => setText(chip.children[1], (log.find((line) => line.seq === n) || { text: "" }).text));
    },
  };
}

function ticksField(spec, id, write) {
  const boxes = spec.options.map((option, i) => {
    const box = el("input", { type: "checkbox", value: option.text, id: i ? `${id}-${i}` : id });
    box.addEventListener("change", () => {
      for (const other of boxes) if (other !== box) other.checked = false; // a heater is left one way or the other
      write({ text: box.checked ? option.text : "" });
    });
    return box;
  });
  return {
    group: true,
    control: boxes[0],
    node: el("div", { class: "ts-ticks" }, ...boxes.map((box, i) => el("label", { class: "ts-tick" }, box, el("span", { text: spec.options[i].note })))),
    undo: () => {},
    update(value) {
      for (const box of boxes) box.checked = box.value.toLowerCase() === value.text.toLowerCase().trim();
    },
  };
}

function capitalOf(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
