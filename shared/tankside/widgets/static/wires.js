// The same wiring in words, for whoever reads rather than looks.
import { el, keyed, setText } from "./dom.js";

export function makeWireList() {
  const body = el("tbody");
  const head = el("tr", {}, ...["no.", "conductor", "kind", "from", "to", "state"].map((text) => el("th", { scope: "col", text })));
  const table = el("table", { class: "ts-table" }, el("caption", { class: "ts-hidden", text: "Conductors" }), el("thead", {}, head), body);
  const node = el("details", { class: "ts-wires" }, el("summary", { text: "Conductors as a list" }), el("div", { "class": "ts-table-box", "role": "region", "aria-label": "List of conductors", "tabindex": "0" }, table));
  return {
    node,
    update(view) {
      const names = new Map(view.parts.flatMap((p) => p.terminals.map((t) => [t.id, t.name])));
      keyed(body, view.wires, (w) => w.id, () => el("tr", {}, ...Array.from({ length: 6 }, () => el("td"))), (row, w) => {
        const cells = [w.id, w.name, w.role, names.get(w.from) || w.from, names.get(w.to) || w.to, w.lifted ? "lifted" : "landed"];
        cells.forEach((text, i) => setText(row.children[i], text));
      });
    },
  };
}
