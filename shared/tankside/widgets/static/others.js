// Parts that have no terminals: gas, water, the tank's own. They are listed by place, as one would look around.
import { el, keyed, setText } from "./dom.js";

export function makeOthers() {
  const list = el("dl", { class: "ts-others-list" });
  const node = el("div", { class: "ts-others", hidden: true }, el("h4", { text: "Also here" }), list);
  return {
    node,
    update(view) {
      const positions = new Map(view.switches.map((s) => [s.id, s.locked ? `${s.position}, locked` : s.position]));
      const rows = view.places.map((place) => ({ place, parts: view.parts.filter((p) => !p.terminals.length && p.place === place.id) })).filter((row) => row.parts.length);
      node.hidden = !rows.length;
      keyed(list, rows, (row) => row.place.id, () => el("div", {}, el("dt"), el("dd")), (item, { place, parts }) => {
        setText(item.firstChild, place.name + (place.cover ? (place.open ? " (cover off)" : " (cover on)") : ""));
        setText(item.lastChild, parts.map((p) => (positions.has(p.id) ? `${p.name}: ${positions.get(p.id)}` : p.name)).join("; "));
      });
    },
  };
}
