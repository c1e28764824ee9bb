// The progress page: what to do next, what holds and what fades, in five boxes by the days between; save and take in.
import { button, el, freshId, setText } from "./dom.js";
import { followTheme } from "./theme.js";
import { boxSteps } from "./topic_marks.js";

const MOST_READ = 30000000;

function makeProgress(model) {
  const say = el("p", { "class": "ts-progress-say", "role": "status", "aria-live": "polite" });
  const body = el("div", { class: "ts-progress-body" });
  const pickId = freshId("take-in");
  const file = el("input", { id: pickId, type: "file", accept: ".json,application/json", class: "ts-hidden", tabindex: "-1" });
  const root = el("section", { "class": "ts-root ts-progress", "aria-label": "Your progress", "data-lm-suppress-shortcuts": "true" }, body,
    el("div", { class: "ts-progress-keys" },
      button({ class: "ts-button", onclick: save }, el("span", { class: "ts-what", text: "Save a copy" })),
      el("label", { for: pickId, class: "ts-hidden", text: "Progress file to take in" }), file,
      button({ class: "ts-button", onclick: () => file.click() }, el("span", { class: "ts-what", text: "Take in a copy" })),
      button({ class: "ts-button", onclick: () => model.send({ do: "look" }) }, el("span", { class: "ts-what", text: "Look again" }))),
    say);

  file.addEventListener("change", async () => {
    const [chosen] = file.files;
    if (!chosen) return;
    if (chosen.size > MOST_READ) setText(say, "This file is far too large to be a progress file. Choose the one that “Save a copy” wrote.");
    else model.send({ do: "take in", text: await chosen.text() });
    file.value = "";
  });

  function save() {
    model.send({ do: "save" });
  }

  function answered() {
    const answer = model.get("answer");
    if (!answer) return;
    setText(say, answer.text || "");
    say.classList.toggle("ts-calm", answer.ok === false);
    if (!answer.copy) return;
    const link = el("a", { download: answer.name, href: URL.createObjectURL(new Blob([answer.copy], { type: "application/json" })) });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }

  function update() {
    const page = model.get("page");
    body.replaceChildren(
      el("h3", { text: "Your progress" }),
      el("dl", { class: "ts-counts" }, ...page.counts.map(([state, number, words]) => el("div", { class: `ts-count-${state}` }, el("dt", { text: words }), el("dd", { text: String(number) })))),
      el("div", { class: "ts-progress-grid" }, nextUp(page), boxes(page)),
      ...page.groups.map(group),
      el("details", { class: "ts-rule" }, el("summary", { text: "The rule" }), ...page.rule.map((text) => el("p", { text }))),
    );
  }

  function nextUp(page) {
    return el("section", { class: "ts-todo" }, el("h4", { text: "Do this next" }),
      page.next.length ? el("ol", {}, ...page.next.map((row) => el("li", {}, el("b", { text: row.name }), el("span", { text: row.why }), el("span", { class: "ts-hint", text: row.where }))))
        : el("p", { text: page.nothing }));
  }

  function boxes(page) {
    return el("section", { class: "ts-shelf" }, el("h4", { text: "Your five boxes" }),
      el("ol", { class: "ts-shelf-row" }, ...page.boxes.map((box) => el("li", { class: "ts-shelf-box" },
        el("div", { "class": "ts-shelf-cards", "aria-hidden": "true" }, ...box.cards.slice(0, 40).map((state) => el("span", { class: `ts-card-chip ts-chip-${state}` }))),
        el("p", { class: "ts-shelf-name" }, el("b", { text: box.name })), el("p", { class: "ts-hint", text: box.words })))));
  }

  function group(rows) {
    return el("section", { class: "ts-group-table" }, el("h4", { text: rows.name }), rows.items.length
      ? el("div", { "class": "ts-table-box", "tabindex": "0", "role": "region", "aria-label": rows.name }, el("table", { class: "ts-table" },
        el("thead", {}, el("tr", {}, ...["What", "How far", "Now", "Again", "Right"].map((text) => el("th", { scope: "col", text })))),
        el("tbody", {}, ...rows.items.map((row) => el("tr", {}, el("th", { scope: "row", text: row.name }),
          el("td", {}, boxSteps(row.box, page5(), row.state, `box ${row.box} of ${page5()}`)),
          el("td", { class: `ts-word-${row.state}`, text: row.words }), el("td", { text: row.due }), el("td", { text: row.right }))))))
      : el("p", { class: "ts-hint", text: rows.none }));
  }

  function page5() {
    return model.get("page").boxes.length;
  }

  root.addEventListener("keydown", (event) => event.stopPropagation());
  update();
  return { root, update, answered };
}

function render({ model, el: host }) {
  const page = makeProgress(model);
  const stopTheme = followTheme(page.root, host);
  host.append(page.root);
  model.on("change:page", page.update);
  model.on("change:answer", page.answered);
  return () => {
    model.off("change:page", page.update);
    model.off("change:answer", page.answered);
    stopTheme();
  };
}

export default { render };
