// The check before the course: one question at a time, nothing told until the end, then where to start.
import { button, el, freshId, keyed, setText } from "./dom.js";
import { followTheme } from "./theme.js";

// A page that lies beside the open one, shown by the same notebook server.
function pageBeside(page) {
  const tree = location.pathname.match(/^(.*\/tree\/(?:.*\/)?)[^/]*$/);
  return tree ? tree[1] + page : page;
}

function render({ model, el: host }) {
  const name = freshId("entry");
  const count = el("p", { class: "ts-count" });
  const heading = el("legend", { class: "ts-question", tabindex: "-1" });
  const list = el("div", { class: "ts-choices" });
  const fields = el("fieldset", {}, heading, list);
  const key = (text, wish, main) => button({ class: main ? "ts-button ts-main" : "ts-button", onclick: wish }, el("span", { class: "ts-what", text }));
  const answer = key("Answer and go on", give, true);
  const unknown = key("I don't know", () => model.send({ do: "unknown" }));
  const finish = key("Stop here and tell me", () => model.send({ do: "finish" }));
  const again = key("Other questions", () => model.send({ do: "again" }));
  const note = el("p", { "class": "ts-verdict", "role": "status", "aria-live": "polite" });
  const said = el("p", { class: "ts-entry-text", tabindex: "-1" });
  const rule = el("p", { class: "ts-entry-rule" });
  const rows = el("tbody");
  const head = el("tr", {}, ...["Lesson", "Your answers", "What to do"].map((text) => el("th", { scope: "col", text })));
  const result = el("div", {}, said, rule, el("table", {}, el("thead", {}, head), rows));
  const root = el("section", { "class": "ts-root ts-quiz ts-entry", "aria-label": "Where to start", "data-lm-suppress-shortcuts": "true" },
    count, fields, result, note, el("div", { class: "ts-quiz-keys" }, answer, unknown, finish, again));
  let shown = null;

  function give() {
    const picked = list.querySelector("input:checked");
    model.send({ do: "answer", choice: picked ? Number(picked.value) : -1 });
  }

  function makeChoice(choice) {
    return el("label", { class: "ts-choice" }, el("input", { type: "radio", name, value: choice.place }), el("span", { class: "ts-choice-text", text: choice.text }));
  }

  function link(page, text) {
    return el("a", { href: pageBeside(page), target: "_blank", rel: "noopener", text });
  }

  function makeRow(row) {
    return el("tr", { class: row.advice === "start here" ? "ts-entry-first" : null },
      el("th", { scope: "row" }, link(row.page, row.name)), el("td", { text: row.words }), el("td", { text: row.advice }));
  }

  function update() {
    const check = model.get("check");
    const fresh = shown !== null && check.key !== shown;
    shown = check.key;
    fields.hidden = answer.hidden = unknown.hidden = finish.hidden = check.done;
    result.hidden = again.hidden = !check.done;
    setText(note, check.note);
    setText(count, check.done ? `${check.index} of ${check.number} questions answered` : `Question ${check.index + 1} of ${check.number}`);
    if (check.done) {
      said.replaceChildren(check.text, " ", link(check.page, "Open it"));
      setText(rule, check.rule);
      rows.replaceChildren(...check.rows.map(makeRow));
    } else {
      setText(heading, check.text);
      const choices = check.choices.map((text, place) => ({ text, place, key: `${check.key} ${place}` }));
      keyed(list, choices, (c) => c.key, makeChoice);
    }
    if (fresh) (check.done ? said : heading).focus({ preventScroll: true });
  }

  root.addEventListener("keydown", (event) => {
    event.stopPropagation();
    if (event.key === "Enter" && event.target.type === "radio") give();
  });
  const stopTheme = followTheme(root, host);
  host.append(root);
  model.on("change:check", update);
  update();
  return () => {
    model.off("change:check", update);
    stopTheme();
  };
}

export default { render };
