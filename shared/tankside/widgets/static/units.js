// Units and function symbols. Two of them are drawn, because few fonts carry them.
import { setText, svg } from "./dom.js";

export function showUnit(node, unit) {
  if (node.dataset.unit === unit) return;
  node.dataset.unit = unit;
  setText(node, unit.startsWith("V") ? "V" : unit === "continuity" ? "" : unit);
  if (unit === "V~") node.append("~");
  if (unit === "V⎓") node.append(picture("M1 5 H15 M1 10 H4.2 M6.4 10 H9.6 M11.8 10 H15"));
  if (unit === "continuity") node.append(picture("M3 8 h.1 M6.5 4.5 a5 5 0 0 1 0 7 M9.5 2 a8.5 8.5 0 0 1 0 12"));
}

// A text with the symbol that a font may lack, in words.
export function plainUnits(text) {
  return text.replaceAll("V⎓", "V direct");
}

function picture(d) {
  return svg("svg", { "viewBox": "0 0 16 16", "class": "ts-glyph", "aria-hidden": "true" }, svg("path", { d }));
}
