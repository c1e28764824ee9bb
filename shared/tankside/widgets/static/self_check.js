// Self-check questions, one at a time. What was wrong about a wrong choice is said at once; then one tries again.
import { button, el, freshId, keyed, setAttribute, setText } from "./dom.js";
import { followTheme } from "./theme.js";

function render({ model, el: host }) {
  const name = freshId("choice");
  const count = el("p", { class: "ts-count" });
  const heading = el("legend", { class: "ts-question", tabindex: "-1" });
  const list = el("div", { class: "ts-choices" });
  const check = button({ class: "ts-button ts-main", onclick: choose }, el("span", { class: "ts-what", text: "Check" }));
  const next = button({ class: "ts-button ts-main", onclick: () => model.send({ do: "next" }) }, el("span", { class: "ts-what", text: "Next question" }));
  const again = button({ class: "ts-button", onclick: () => model.send({ do: "again" }) }, el("span", { class: "ts-what", text: "New questions" }));
  const back = button({ class: "ts-button", onclick: () => model.send({ do: "back" }) }, el("span", { class: "ts-what", text: "Back" }));
  const verdict = el("b");
  const why = el("span");
  const said = el("p", { "class": "ts-verdict", "role": "status", "aria-live": "polite" }, verdict, " ", why);
  const total = el("p", { class: "ts-total" });
  const root = el("section", { "class": "ts-root ts-quiz", "aria-label": "Questions to check yourself", "data-lm-suppress-shortcuts": "true" },
    count, el("fieldset", {}, heading, list), said, el("div", { class: "ts-quiz-keys" }, check, next, back, again), total);
  let shown = null;

  function choose() {
    const picked = list.querySelector("input:checked");
    model.send({ do: "choose", choice: picked ? Number(picked.value) : -1 });
  }

  function makeChoice(choice) {
    const radio = el("input", { type: "radio", name, value: choice.place });
    return el("label", { class: "ts-choice" }, radio, el("span", { class: "ts-choice-text", text: choice.text }), el("span", { class: "ts-mark" }));
  }

  function update() {
    const quiz = model.get("quiz");
    const inside = root.contains(document.activeElement); // before anything is hidden or disabled
    const fresh = shown !== null && quiz.key !== shown;
    shown = quiz.key;
    setText(count, `Question ${quiz.index + 1} of ${quiz.number}`);
    setText(heading, quiz.text);
    const last = quiz.tried.length ? quiz.tried[quiz.tried.length - 1] : -1;
    const choices = quiz.choices.map((text, place) => ({ text, place, key: `${quiz.key} ${place}` }));
    keyed(list, choices, (c) => c.key, makeChoice, (label, c) => {
      const tried = quiz.tried.includes(c.place);
      const right = quiz.solved && c.place === last;
      const radio = label.querySelector("input");
      radio.disabled = (tried && !right) || quiz.solved;
      if (right) radio.checked = true;
      else if (radio.disabled) radio.checked = false;
      label.classList.toggle("ts-right", right);
      label.classList.toggle("ts-tried", tried && !right);
      setText(label.querySelector(".ts-mark"), right ? "right" : tried ? "no" : "");
    });
    setText(verdict, quiz.note ? "" : quiz.verdict);
    setText(why, quiz.note || quiz.why);
    said.classList.toggle("ts-good", quiz.solved && !quiz.note);
    const ended = quiz.index === quiz.number - 1;
    check.hidden = quiz.solved;
    next.hidden = !quiz.solved || ended;
    back.hidden = quiz.index === 0;
    setText(total, quiz.done ? `${quiz.first} of ${quiz.done} right at the first try.${quiz.done === quiz.number ? " That was the last one." : ""}` : "");
    if (fresh) heading.focus({ preventScroll: true });
    else if (inside && quiz.solved) (ended ? again : next).focus({ preventScroll: true });
    else if (inside && !root.contains(document.activeElement)) list.querySelector("input:enabled").focus({ preventScroll: true });
    setAttribute(root, "data-solved", quiz.solved ? "yes" : null);
  }

  root.addEventListener("keydown", (event) => {
    event.stopPropagation();
    if (event.key === "Enter" && event.target.type === "radio") choose();
  });
  const stopTheme = followTheme(root, host);
  host.append(root);
  model.on("change:quiz", update);
  update();
  return () => {
    model.off("change:quiz", update);
    stopTheme();
  };
}

export default { render };
