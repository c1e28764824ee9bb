// The end of a call-out: what is still missing, the file that was written, or a practice order's marks and both paths.
import { button, el, keyed, setText } from "./dom.js";

export function makeEnd({ practice, next, onAct, onGo }) {
  const word = practice ? "Finish the call-out" : "Hand in";
  const check = button({ class: "ts-button", onclick: () => onAct({ do: "check" }) }, el("span", { class: "ts-what", text: "Check the report" }));
  const hand = button({ class: "ts-button ts-main", onclick: () => onAct({ do: practice ? "finish" : "hand in" }) }, el("span", { class: "ts-what", text: word }));
  const count = el("p", { class: "ts-answered" });
  const title = el("h4", { tabindex: "-1" });
  const list = el("ul", { class: "ts-missing-list" });
  const anyway = button({ class: "ts-button", onclick: () => onAct({ do: practice ? "finish" : "hand in", anyway: true }) }, el("span", { class: "ts-what", text: practice ? "Finish all the same" : "Hand in all the same" }));
  const missing = el("div", { class: "ts-missing", hidden: true }, title, list, anyway);
  const sent = el("div", { class: "ts-sent", hidden: true });
  const result = el("section", { "class": "ts-outcome", "hidden": true, "aria-label": "How it went" });
  const node = el("div", { class: "ts-end" }, el("div", { class: "ts-end-bar" }, count, check, hand), missing, sent, result);
  let wished = "";

  function showCheck(rows, all) {
    missing.hidden = false;
    keyed(list, rows, (row) => `${row.label} ${row.text}`, (row) => el("li", {}, row.label
      ? button({ class: "ts-link", onclick: () => onGo(row.label) }, el("b", { text: nameOf(row.label, all) }), ` ${row.text}`)
      : el("span", { text: row.text })));
    anyway.hidden = !rows.length || wished === "check";
    setText(title, rows.length ? (rows.length === 1 ? "One thing is missing or unclear" : `${rows.length} things are missing or unclear`) : "Nothing is missing. Ready to hand in.");
    if (!rows.length && practice) setText(title, "Nothing is missing. Ready to finish.");
    title.focus();
  }

  function showSent(handed, fresh) {
    sent.hidden = !handed;
    if (!handed) return;
    const lines = [
      el("h4", { tabindex: "-1", text: handed.stale ? "You have worked on since you handed in" : "Ready to send" }),
      el("p", {}, el("b", { class: "ts-file", text: handed.name }), ` in the folder “${handed.folder}”, written at ${handed.at}.`),
      el("p", { text: handed.stale ? "The file doesn't hold your latest work. Hand in again, then send the new one." : "Send this one file to your instructor. It holds your work order, your bench log and your report." }),
    ];
    if (handed.notebook) lines.push(el("p", { class: "ts-hint", text: `The notebook, last saved at ${handed.notebook}, goes along. Wrote in it since? Save it, then hand in again.` }));
    sent.replaceChildren(...lines);
    sent.classList.toggle("ts-behind", handed.stale);
    if (fresh) sent.querySelector("h4").focus();
  }

  function showResult(done) {
    result.hidden = false;
    missing.hidden = true;
    const head = el("h4", { tabindex: "-1", class: "ts-result-head", text: `It was: ${done.fault}` });
    const score = el("p", { class: "ts-score" }, el("b", { text: `${done.total}` }), ` of ${done.out_of} points`, el("span", { class: done.passed ? "ts-passed" : "ts-failed", text: done.passed ? "passed" : "not passed" }));
    const bars = done.parts.map((part) => el("li", { class: "ts-part" },
      el("div", { class: "ts-part-head" }, el("b", { text: part.name }), el("span", { text: `${part.points} of ${part.out_of}` })),
      el("div", { "class": "ts-bar", "aria-hidden": "true" }, el("span", { style: `inline-size: ${Math.max(0, (100 * part.points) / part.out_of)}%` })),
      el("ul", { class: "ts-reasons" }, ...part.reasons.map((text) => el("li", { text: text.charAt(0).toUpperCase() + text.slice(1) })))));
    const drawn = new DOMParser().parseFromString(done.picture, "text/html").querySelector("svg");
    result.replaceChildren(el("div", { class: "ts-result-top" }, head, score),
      done.unsafe.length ? el("p", {}, el("b", { text: "Not passed, whatever the points: " }), `a dangerous act. ${done.unsafe.join(". ")}.`) : "",
      el("p", { text: `${done.how} (${done.place})` }), el("p", {}, "What cures it: ", el("b", { text: done.remedy }), "."),
      el("ul", { class: "ts-parts" }, ...bars), el("h4", { text: "Your path and the shortest safe one" }), el("p", { class: "ts-hint", text: done.words }),
      el("figure", { class: "ts-paths" }, drawn || ""),
      next ? button({ class: "ts-button ts-main", onclick: () => onAct({ do: "next" }) }, el("span", { class: "ts-what", text: "Next call-out" })) : "");
    head.focus();
  }

  return {
    node,
    wish: (what) => (wished = what),
    answered(answer, all) {
      if (answer.check) showCheck(answer.check, all);
      if (answer.package) {
        missing.hidden = true;
        showSent(answer.package, true);
      }
      if (answer.finished) showResult(answer.finished);
    },
    update(state, all) {
      setText(count, `${state.answered} of ${all.length} answered`);
      if (!practice) showSent(state.handed, false);
    },
    clear() {
      missing.hidden = sent.hidden = result.hidden = true;
    },
  };
}

function nameOf(label, all) {
  const field = all.find((f) => f.label === label);
  return `${field ? field.title.split(":")[0] : label}:`;
}
