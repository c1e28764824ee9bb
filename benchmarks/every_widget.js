// What can be pressed, typed in or chosen in a notebook's outputs, each under one name that stays through its states.
() => {
  if (window.tsWidgets) return;
  const ANY = "button, input, select, textarea, summary";
  const clean = (text) => text.replace(/\s+/g, " ").replace(/ ?Not now:.*/, "").replace(/[\d.]+ min$/, "")
    .replace(/, (red|black|both) leads? (is|are) here.*/, "").trim().slice(0, 80);
  const cell = (e) => e.closest(".jp-Cell")?.getAttribute("data-windowed-list-index")
    ?? String([...document.querySelectorAll(".jp-Notebook .jp-Cell")].indexOf(e.closest(".jp-Cell")));
  const label = (e) => clean(e.getAttribute("aria-label") || (e.labels?.length ? e.labels[0].textContent : "")
    || (["SELECT", "TEXTAREA"].includes(e.tagName) ? e.title : e.textContent) || e.title || "");
  const name = (e) => {
    const quiz = e.closest(".ts-quiz");
    if (quiz && e.type === "radio") return "answer " + (1 + [...quiz.querySelectorAll("input[type=radio]")].indexOf(e));
    return e.matches(".ts-stop-terminal") ? label(e).replace(/^[RB]+(?=[a-z])/, "") : label(e);
  };
  let next = 0;
  window.tsWidgets = () => [...document.querySelectorAll(".jp-OutputArea-output, .ts-root")].flatMap((o) => [...o.querySelectorAll(ANY)])
    .filter((e, k, all) => all.indexOf(e) === k && e.isConnected && !e.closest("[hidden], [inert]"))
    .map((e) => {
      e.dataset.walk ??= String(next++);
      const shown = e.checkVisibility({ checkVisibilityCSS: true, opacityProperty: false });
      return {
        id: e.dataset.walk, key: `${cell(e)} | ${e.tagName.toLowerCase()}${e.type ? ":" + e.type : ""} | ${name(e)}`,
        kind: e.tagName === "INPUT" ? e.type : e.tagName.toLowerCase(), shown,
        enabled: !e.disabled && e.getAttribute("aria-disabled") !== "true" && !e.closest("fieldset:disabled"),
        why: e.getAttribute("aria-disabled") === "true" || e.disabled ? (e.textContent || e.title || "").replace(/\s+/g, " ").slice(0, 120) : "",
        options: e.tagName === "SELECT" ? [...e.options].filter((o) => !o.disabled).map((o) => o.value) : [],
        low: +e.min || 0, high: e.max === "" ? 100 : +e.max, open: e.tagName === "SUMMARY" && e.parentElement.open,
      };
    });
}
