// The bench has stopped: which rule, what happened, why it matters, and what a technician does now.
import { button, el, freshId, minutesText, setText } from "./dom.js";

export function makeStopPanel({ onAction }) {
  const id = freshId("stop");
  const name = el("h3", { id, tabindex: "-1" });
  const fields = {};
  const list = el("dl", { class: "ts-stop-list" });
  for (const [key, title] of [["what", "What happened"], ["why", "Why it matters"], ["now", "What a technician does"]]) {
    fields[key] = el("dd");
    list.append(el("div", {}, el("dt", { text: title }), fields[key]));
  }
  const on = button({ class: "ts-button ts-main", onclick: () => onAction({ verb: "make safe", args: {} }) }, el("span", { class: "ts-what", text: "Make safe and go on" }), el("span", { class: "ts-cost" }));
  const care = el("p", { class: "ts-hint", text: "Nobody was hurt: this is a simulation. Local codes, the maker's instructions and licensed practice come first on a real job." });
  const node = el("section", { "class": "ts-stopped", "role": "alert", "aria-labelledby": id, "hidden": true }, el("p", { class: "ts-stop-word", text: "Work stopped" }), name, list, care, on);

  return {
    node,
    update(view) {
      const { stopped } = view;
      const fresh = stopped && node.hidden;
      node.hidden = !stopped;
      if (!stopped) return;
      setText(name, stopped.name);
      for (const key of ["what", "why", "now"]) setText(fields[key], stopped[key]);
      const safe = view.actions.find((a) => a.verb === "make safe");
      on.hidden = !safe;
      if (safe) setText(on.querySelector(".ts-cost"), minutesText(safe.minutes));
      if (fresh) name.focus({ preventScroll: false });
    },
  };
}
