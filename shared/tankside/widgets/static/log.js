// The bench log in plain words. Line numbers are what a service report cites as evidence.
import { el, keyed } from "./dom.js";
import { plainUnits } from "./units.js";

export function makeLog() {
  const list = el("ol", { class: "ts-log-lines" });
  const scroll = el("div", { "class": "ts-log-scroll", "role": "region", "aria-label": "Bench log", "tabindex": "0" }, list);
  const cite = el("p", { class: "ts-hint", text: "Cite these line numbers as evidence in your service report." });
  const node = el("section", { class: "ts-log" }, el("h3", { text: "Bench log" }), cite, scroll);
  let newest = null;
  let stuck = true;
  scroll.addEventListener("scroll", () => {
    stuck = scroll.scrollTop + scroll.clientHeight >= scroll.scrollHeight - 4;
  }, { passive: true });

  return {
    node,
    update(view) {
      cite.hidden = view.order.lab === "lesson"; // a lesson's bench has no report
      keyed(list, view.log, (line) => `${line.seq} ${line.text}`, makeLine);
      const last = view.log.length ? view.log[view.log.length - 1].seq : null;
      if (stuck || last !== newest) requestAnimationFrame(() => (scroll.scrollTop = scroll.scrollHeight));
      newest = last;
    },
  };
}

function makeLine(line) {
  return el("li", { class: "ts-line" },
    el("span", { class: "ts-line-number" }, el("span", { class: "ts-hidden", text: "line " }), String(line.seq)),
    el("span", { class: "ts-line-at", text: `${Math.round(line.at * 10) / 10} min` }),
    el("span", { class: "ts-line-text", text: plainUnits(line.text) }));
}
