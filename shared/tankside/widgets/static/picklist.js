// A field to choose from a list by typing any part of a name. What is typed stays, even when nothing fits it.
import { el, freshId, keyed, setAttribute } from "./dom.js";

export function makePickList({ label, describedBy, placeholder, onPick }) {
  const id = freshId("pick");
  const list = el("ul", { "id": `${id}-list`, "role": "listbox", "aria-label": label, "class": "ts-picks", "hidden": true });
  const field = el("input", {
    id, "type": "text", "role": "combobox", "autocomplete": "off", "spellcheck": "false", "class": "ts-field",
    "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": `${id}-list`, "aria-describedby": describedBy || null,
    "placeholder": placeholder || "type a part of its name",
  });
  const open = el("span", { "class": "ts-pick-sign", "aria-hidden": "true", "text": "▾" });
  const node = el("div", { class: "ts-pick" }, field, open, list);
  let options = [];
  let shown = [];
  let active = -1;
  let value = "";

  function fitting() {
    const words = field.value.toLowerCase().split(/[^\p{L}\p{N}]+/u).filter(Boolean);
    if (field.value === value) return options;
    return options.filter((o) => {
      const have = `${o.text} ${o.note}`.toLowerCase().split(/[^\p{L}\p{N}]+/u);
      return words.every((word) => have.some((w) => w.startsWith(word)));
    });
  }

  function unfold() {
    shown = fitting().slice(0, 200);
    active = field.value === value ? shown.findIndex((o) => o.text === value) : shown.length ? 0 : -1;
    list.hidden = !shown.length;
    setAttribute(field, "aria-expanded", shown.length ? "true" : "false");
    mark();
  }

  function mark() {
    keyed(list, shown, (o) => o.text, makeOption, (option, o) => setAttribute(option, "aria-selected", shown[active] === o ? "true" : "false"));
    const option = list.children[active];
    setAttribute(field, "aria-activedescendant", option && !list.hidden ? option.id : null);
    if (option) option.scrollIntoView({ block: "nearest" });
  }

  function makeOption(o) {
    const option = el("li", { id: freshId("pick-option"), role: "option" }, el("span", { text: o.text }), el("span", { class: "ts-pick-note", text: o.note }));
    option.addEventListener("pointerdown", (event) => event.preventDefault());
    option.addEventListener("click", () => take(o.text));
    return option;
  }

  function fold() {
    list.hidden = true;
    active = -1;
    setAttribute(field, "aria-expanded", "false");
    setAttribute(field, "aria-activedescendant", null);
  }

  function take(text) {
    fold();
    field.value = text;
    if (text === value) return;
    value = text;
    onPick(text);
  }

  field.addEventListener("input", unfold);
  field.addEventListener("click", unfold);
  field.addEventListener("blur", () => take(field.value));
  field.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step) {
      if (list.hidden) unfold();
      else active = shown.length ? (active + step + shown.length) % shown.length : -1;
      if (active < 0 && shown.length) active = step > 0 ? 0 : shown.length - 1;
      mark();
    } else if (event.key === "Enter") take(list.hidden || active < 0 ? field.value : shown[active].text);
    else if (event.key === "Escape" && !list.hidden) fold();
    else return;
    event.preventDefault();
    event.stopPropagation();
  });

  return {
    node,
    field,
    fill(all) {
      options = all;
    },
    update(text) {
      if (document.activeElement === field && field.value !== value) return; // being typed in
      value = text;
      if (field.value !== text) field.value = text;
    },
  };
}
