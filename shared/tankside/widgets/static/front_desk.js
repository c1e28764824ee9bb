// One button for who teaches or runs a shop: it does the first useful thing, says what came of it, and where it lies.
import { button, el, freshId, setText } from "./dom.js";
import { followTheme } from "./theme.js";

function makeFrontDesk(model) {
  const first = model.get("desk");
  const id = freshId("name");
  const field = el("input", { id, type: "text", class: "ts-field", maxlength: 200, autocomplete: "off" });
  const go = button({ class: "ts-button ts-main ts-front-go", onclick: start }, el("span", { class: "ts-what", text: first.button }));
  const say = el("p", { "class": "ts-front-say", "role": "status", "aria-live": "polite" });
  const note = el("p", { class: "ts-hint" });
  const files = el("ul", { class: "ts-front-files" });
  const named = first.field ? [el("label", { for: id, class: "ts-front-label", text: first.field }), field] : [];
  const root = el("section", { "class": "ts-root ts-front", "aria-label": first.title, "data-lm-suppress-shortcuts": "true" },
    el("h3", { text: first.title }), el("p", { class: "ts-front-words", text: first.words }), el("div", { class: "ts-front-row" }, ...named, go), say, files, note);
  let busy = false;

  function start() {
    if (busy) return;
    busy = true;
    model.send({ do: "go", name: field.value });
  }

  function update() {
    const desk = model.get("desk");
    busy = Boolean(desk.busy);
    root.classList.toggle("ts-busy", busy);
    setText(say, desk.busy || desk.text);
    say.classList.toggle("ts-calm", !desk.ok && !desk.busy);
    setText(note, busy ? "" : desk.note);
    files.replaceChildren(...(busy ? [] : desk.files).map((file) => el("li", {}, el("a", { href: addressOf(file.path, root), target: "_blank", rel: "noopener", text: file.name }))));
  }

  field.addEventListener("keydown", (event) => event.key === "Enter" && start());
  root.addEventListener("keydown", (event) => event.stopPropagation());
  update();
  return { root, update };
}

// Where the notebook's server shows a file that lies beside the open notebook.
function addressOf(path, root) {
  const config = document.getElementById("jupyter-config-data");
  const base = config ? JSON.parse(config.textContent).baseUrl || "/" : "/";
  // The page's address loses the notebook's name when it is loaded again. Its tab's tip still has it: "Name: …", "Path: …".
  const panel = root.closest(".jp-NotebookPanel");
  const tip = panel && document.querySelector('.lm-TabBar-tab[data-id="' + CSS.escape(panel.id) + '"]')?.title.split("\n")[1]?.match(/:\s*(.+\.ipynb)$/);
  const tree = decodeURIComponent(location.pathname).match(/\/tree\/(.*)$/);
  const place = (tip || tree || ["", ""])[1].split("/");
  const folder = place.at(-1).endsWith(".ipynb") ? place.slice(0, -1) : place.filter(Boolean);
  return `${base}files/${[...folder, ...path.split("/")].map(encodeURIComponent).join("/")}`;
}

function render({ model, el: host }) {
  const desk = makeFrontDesk(model);
  const stopTheme = followTheme(desk.root, host);
  host.append(desk.root);
  desk.update();
  model.on("change:desk", desk.update);
  return () => {
    model.off("change:desk", desk.update);
    stopTheme();
  };
}

export default { render };
