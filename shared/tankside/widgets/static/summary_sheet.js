// A button that prints a lesson's summary: the sheet stands in a frame that nobody sees, and only the frame is printed.
import { button, el, setText } from "./dom.js";
import { followTheme } from "./theme.js";

function render({ model, el: host }) {
  const frame = el("iframe", { "class": "ts-hidden", "title": "The summary, ready to print", "tabindex": "-1", "aria-hidden": "true" });
  const say = el("p", { "class": "ts-hint", "role": "status", "aria-live": "polite" });
  const go = button({ class: "ts-button ts-main", onclick: print }, el("span", { class: "ts-what", text: "Print this page" }));
  const root = el("section", { "class": "ts-root", "aria-label": "Print the summary", "data-lm-suppress-shortcuts": "true" }, go, say, frame);
  go.style.width = "auto";

  function print() {
    setText(say, "The print window opens. It can save the page as a PDF file too.");
    frame.contentWindow.focus();
    frame.contentWindow.print();
  }

  frame.srcdoc = model.get("page");
  root.addEventListener("keydown", (event) => event.stopPropagation());
  const stopTheme = followTheme(root, host);
  host.append(root);
  return stopTheme;
}

export default { render };
