// The bench log beside the report: one line an action, picked as evidence by a click, a touch or the space bar.
import { el, freshId, keyed, setAttribute, setText } from "./dom.js";
import { plainUnits } from "./units.js";

export function makeReportLog({ onPick }) {
  const title = freshId("log");
  const list = el("ol", { "class": "ts-cite-lines", "role": "listbox", "aria-multiselectable": "true", "aria-labelledby": title, "tabindex": "0" });
  const count = el("span", { class: "ts-hint" });
  const node = el("section", { class: "ts-cite" },
    el("h4", { id: title, text: "Bench log" }),
    el("p", { class: "ts-hint", text: "Tick the lines that show your diagnosis. Arrow keys walk, the space bar ticks." }), list, count);
  let picked = [];
  let at = -1;
  let newest = -1;

  function make(line) {
    const row = el("li", { "id": freshId("cite"), "role": "option", "class": "ts-cite-line", "data-seq": line.seq },
      el("span", { "class": "ts-cite-box", "aria-hidden": "true" }),
      el("span", { class: "ts-cite-number", text: String(line.seq) }),
      el("span", { class: "ts-cite-at", text: `${Math.round(line.at * 10) / 10} min` }),
      el("span", { class: "ts-cite-text", text: plainUnits(line.text) }));
    row.addEventListener("click", () => {
      at = Number(row.dataset.seq);
      turn(at);
    });
    return row;
  }

  function turn(seq) {
    picked = picked.includes(seq) ? picked.filter((n) => n !== seq) : [...picked, seq].sort((a, b) => a - b);
    paint();
    onPick(picked);
  }

  function paint() {
    for (const row of list.children) {
      const seq = Number(row.dataset.seq);
      setAttribute(row, "aria-selected", picked.includes(seq) ? "true" : "false");
      row.classList.toggle("ts-at", seq === at);
      if (seq === at) setAttribute(list, "aria-activedescendant", row.id);
    }
    setText(count, picked.length === 0 ? "No line ticked yet." : picked.length === 1 ? "1 line ticked." : `${picked.length} lines ticked.`);
  }

  function walk(seq) {
    at = Math.max(0, Math.min(newest, seq));
    paint();
    const row = list.querySelector(`[data-seq="${at}"]`);
    if (row) row.scrollIntoView({ block: "nearest" });
  }

  // Before the focus comes: walking to the newest line would pull the pressed one away from under the pointer.
  list.addEventListener("pointerdown", (event) => {
    const row = event.target.closest("[data-seq]");
    if (row) at = Number(row.dataset.seq);
    else if (at < 0) at = 0;
  });
  list.addEventListener("focus", () => {
    if (at < 0) walk(newest);
  });
  list.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step) walk(at + step);
    else if (event.key === "Home") walk(0);
    else if (event.key === "End") walk(newest);
    else if ((event.key === " " || event.key === "Enter") && at >= 0) turn(at);
    else return;
    event.preventDefault();
  });

  return {
    node,
    list,
    update(lines, chosen) {
      const grown = lines.length && lines[lines.length - 1].seq !== newest;
      keyed(list, lines, (line) => `${line.seq} ${line.text}`, make);
      newest = lines.length ? lines[lines.length - 1].seq : -1;
      if (chosen) picked = chosen;
      if (at > newest) at = newest;
      paint();
      if (grown && document.activeElement !== list) list.scrollTop = list.scrollHeight;
    },
  };
}
