// The part in hand: what it is, where, its terminals, and what can be done at it. The same rows as in the lists of actions.
import { button, el, keyed, minutesText, setAttribute, setReason, setText } from "./dom.js";

export function makeCard({ onTerminal, onAction, onBlocked, onClose }) {
  const title = el("h4", { tabindex: "-1" });
  const where = el("p", { class: "ts-hint" });
  const terminals = el("div", { "class": "ts-card-row", "role": "group", "aria-label": "Put the lead in hand on" });
  const rows = el("div", { "class": "ts-card-row", "role": "group", "aria-label": "What can be done here" });
  const none = el("p", { class: "ts-hint", text: "Nothing is done at this part alone." });
  const close = button({ "class": "ts-button ts-card-close", "aria-label": "Put it away", "onclick": onClose }, "×");
  const node = el("section", { "class": "ts-card", "aria-label": "Part in hand", "hidden": true }, el("div", { class: "ts-card-head" }, title, where, close), terminals, rows, none);

  function make() {
    const act = button({ class: "ts-button" }, el("span", { class: "ts-what" }), el("span", { class: "ts-cost" }));
    act.addEventListener("click", () => {
      if (act.getAttribute("aria-disabled") === "true") onBlocked(act.title);
      else if (act.now.terminal) onTerminal(act.now.terminal.id, act.now.terminal.name);
      else onAction(act.now.action);
    });
    return act;
  }

  function patch(act, row) {
    act.now = row;
    setText(act.querySelector(".ts-what"), row.label);
    setText(act.querySelector(".ts-cost"), minutesText(row.minutes));
    setReason(act, row.why || "");
  }

  return {
    node,
    focus: () => title.focus({ preventScroll: true }),
    update(view, picked, all) {
      const part = view.parts.find((p) => p.id === picked);
      node.hidden = !part;
      if (!part) return;
      const place = view.places.find((p) => p.id === part.place);
      const shut = place.cover && !place.open;
      setText(title, part.name);
      setText(where, `${place.name}${place.cover ? (place.open ? ", cover off" : ", cover on") : ""}`);
      const spots = shut ? [] : part.terminals.map((t) => ({ key: t.id, label: short(t.name, part.name), terminal: t, why: view.stopped ? "The bench is stopped. Make safe first." : "" }));
      keyed(terminals, spots, (s) => s.key, make, patch);
      terminals.hidden = !spots.length;
      const here = all.flatMap((row) => rowsAt(row, part.id));
      keyed(rows, here, (r) => r.key, make, patch);
      rows.hidden = !here.length;
      none.hidden = Boolean(here.length || spots.length);
      setAttribute(node, "aria-label", `Part in hand: ${part.name}`);
    },
  };
}

function short(name, part) {
  return name.startsWith(part) ? name.slice(part.length).replace(/^[,\s]+/, "") || name : name;
}

// A row of the lists as buttons at this part: as it is, or once for each of its choices that is about the part.
function rowsAt(row, part) {
  if (row.options) {
    const here = row.options.filter((o) => (o.at || []).includes(part));
    const all = here.length ? here : row.at.includes(part) ? row.options : [];
    return all.map((o) => ({ key: `${row.key} ${o.value}`, label: `${row.label}: ${o.label}`, minutes: o.minutes ?? row.minutes, why: row.why || o.why, action: { verb: row.verb, args: { ...row.args, [row.argument]: o.value } } }));
  }
  if (!row.at.includes(part)) return [];
  const args = row.most ? { ...row.args, minutes: row.minutes } : row.args;
  return [{ key: row.key, label: row.most ? `${row.label}, ${row.minutes} min` : row.label, minutes: row.most ? undefined : row.minutes, why: row.why, action: { verb: row.verb, args } }];
}
