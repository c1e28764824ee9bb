// What the conductors' colours mean, in words, with a short piece of each.
import { el, keyed, svg } from "./dom.js";

const WORDS = {
  "hot": "black: hot",
  "switched hot": "black with a light thread: switched hot",
  "neutral": "white: neutral",
  "ground": "green: ground",
  "bond": "bare: metal to metal",
  "dc+": "red: 12 V, plus",
  "dc-": "black with a red thread: 12 V, minus",
};
// Where nothing feeds 12 V, the direct side is a thermocouple's.
const MILLIVOLTS = { "dc+": "red: millivolts, plus", "dc-": "black with a red thread: millivolts, minus" };
const SOURCES = ["battery", "converter"];

export function roleClass(role) {
  return `ts-role-${role.replace("+", "plus").replace("-", "minus").replace(" ", "-")}`;
}

export function makeLegend() {
  const list = el("ul", { class: "ts-legend", "aria-label": "Colors of the conductors" });
  return {
    node: list,
    update(roles, parts) {
      const words = parts.some((part) => SOURCES.includes(part.type)) ? WORDS : { ...WORDS, ...MILLIVOLTS };
      const order = Object.keys(WORDS);
      const used = [...new Set(roles)].sort((a, b) => order.indexOf(a) - order.indexOf(b));
      keyed(list, used, (role) => role, (role) => el("li", {}, piece(role), words[role] || role));
    },
  };
}

function piece(role) {
  const d = "M3 6 H27";
  const strokes = ["ts-casing", "ts-core", "ts-tracer"].map((part) => svg("path", { class: part, d }));
  return svg("svg", { "width": 30, "height": 12, "aria-hidden": "true", "class": `ts-wire ${roleClass(role)}` }, ...strokes);
}
