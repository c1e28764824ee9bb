// A field to find a terminal by typing a part of its name. Nothing happens until one is chosen.
import { el, freshId, keyed, setAttribute } from "./dom.js";

export function makeFinder({ label, onChoose, onNothing }) {
  const id = freshId("finder");
  const list = el("ul", { id: `${id}-list`, role: "listbox", "aria-label": label, class: "ts-options", hidden: true });
  const field = el("input", {
    id, type: "text", role: "combobox", autocomplete: "off", spellcheck: "false", class: "ts-field",
    "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": `${id}-list`, placeholder: "type a name",
  });
  const node = el("div", { class: "ts-finder" }, el("label", { for: id, text: label }), el("div", { class: "ts-finder-box" }, field, list));
  let terminals = [];
  let shown = [];
  let active = -1;
  let value = "";

  function matching() {
    const words = field.value.toLowerCase().split(/[\s,]+/).filter(Boolean);
    if (field.value === value) return terminals;
    return terminals.filter((t) => words.every((word) => t.name.toLowerCase().split(/[\s,]+/).some((w) => w.startsWith(word))));
  }

  function open() {
    shown = matching();
    active = shown.length && field.value.trim() && field.value !== value ? Math.max(0, shown.findIndex((t) => t.reachable)) : -1;
    setAttribute(field, "aria-expanded", shown.length ? "true" : "false");
    list.hidden = !shown.length;
    mark();
  }

  function mark() {
    keyed(list, shown, (t) => t.id, makeOption, (option, t) => {
      setAttribute(option, "aria-disabled", t.reachable ? null : "true");
      setAttribute(option, "aria-selected", shown[active] === t ? "true" : "false");
    });
    const chosen = shown[active];
    const option = chosen && list.querySelector(`[data-terminal="${CSS.escape(chosen.id)}"]`);
    setAttribute(field, "aria-activedescendant", option ? option.id : null);
    if (option) option.scrollIntoView({ block: "nearest" });
  }

  function makeOption(t) {
    const option = el("li", { "id": freshId("option"), "role": "option", "data-terminal": t.id, "text": t.name });
    option.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      choose(terminals.find((now) => now.id === t.id));
    });
    return option;
  }

  function close() {
    list.hidden = true;
    active = -1;
    setAttribute(field, "aria-expanded", "false");
    setAttribute(field, "aria-activedescendant", null);
  }

  function choose(terminal) {
    if (!terminal) return;
    close();
    onChoose(terminal);
  }

  field.addEventListener("focus", () => field.select());
  field.addEventListener("input", open);
  field.addEventListener("click", open);
  field.addEventListener("blur", () => {
    close();
    field.value = value;
  });
  field.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step) {
      if (list.hidden) open();
      active = shown.length ? (active + step + shown.length) % shown.length : -1;
      mark();
    } else if (event.key === "Enter") {
      const typed = field.value.trim();
      if (typed && !matching().length) onNothing(typed);
      else choose(shown[active]);
    } else if (event.key === "Escape" && !list.hidden) {
      close();
      field.value = value;
    } else return;
    event.preventDefault();
    event.stopPropagation();
  });

  return {
    node,
    field,
    update(all, terminal) {
      terminals = all;
      value = terminal ? terminal.name : "";
      if (document.activeElement !== field || list.hidden) field.value = value;
      if (!list.hidden) open();
    },
  };
}
