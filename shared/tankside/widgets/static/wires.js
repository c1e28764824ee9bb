// The same wiring in words, for whoever reads rather than looks.
import { el, keyed, setText } from "./dom.js";
import { markOf } from "./labels.js";

const KINDS = { "dc+": "plus", "dc-": "minus" };

export function makeWireList() {
  const body = el("tbody");
  const head = el("tr", {}, ...["no.", "conductor", "kind", "from", "to", "state", "live"].map((text) => el("th", { scope: "col", text })));
  const table = el("table", { class: "ts-table" }, el("caption", { class: "ts-hidden", text: "Conductors" }), el("thead", {}, head), body);
  const node = el("details", { class: "ts-wires" }, el("summary", { text: "Conductors as a list" }), el("div", { "class": "ts-table-box", "role": "region", "aria-label": "List of conductors", "tabindex": "0" }, table));
  return {
    node,
    showLive: (on) => table.classList.toggle("ts-with-live", on),
    update(view) {
      const names = new Map(view.parts.flatMap((p) => p.terminals.map((t) => [t.id, t.name])));
      keyed(body, view.wires, (w) => w.id, () => el("tr", {}, ...Array.from({ length: 7 }, () => el("td"))), (row, w) => {
        const inside = view.scene && view.scene.inside;
        const live = inside && inside.wires[w.id] ? { live: "live", dead: "dead", half: "live at one end only" }[inside.wires[w.id]] : "";
        const cells = [markOf(w), w.name, KINDS[w.role] || w.role, names.get(w.from) || w.from, names.get(w.to) || w.to, w.lifted ? "lifted" : "landed", live];
        cells.forEach((text, i) => setText(row.children[i], text));
      });
    },
  };
}
