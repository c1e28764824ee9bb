// The call-out desk: work order, log, notes, service report, handing in. Everything typed goes to the kernel at once.
import { el, freshId, keyed, setText } from "./dom.js";
import { makeEnd } from "./report_end.js";
import { makeField } from "./report_fields.js";
import { makeReportLog } from "./report_log.js";
import { followTheme } from "./theme.js";

const DESK_PATIENCE = 8000;
const UNSAVED = "Not saved yet: the notebook has not answered. If it is busy, this waits. If it was restarted, run the cells above again, then look whether your last words are here.";
const MOST_NOTED = 20000;

function makeReportDesk(model) {
  const own = Math.random().toString(36).slice(2, 8);
  const say = el("p", { "class": "ts-desk-say", "role": "status", "aria-live": "polite" });
  const sheet = el("div", { class: "ts-desk-sheet" });
  const root = el("section", { "class": "ts-root ts-desk", "aria-label": "Call-out desk", "data-lm-suppress-shortcuts": "true" }, sheet, say);
  const queue = [];
  let waiting = null;
  let count = 0;
  let fields = [];
  let parts = null;

  function tell(text, calm) {
    setText(say, text);
    say.classList.toggle("ts-calm", Boolean(calm && text));
  }

  // One message at a time. A field that changed again while it waited is sent once, as it is now.
  function send(message) {
    const old = queue.findIndex((m) => m.do === message.do && m.label === message.label && message.do === "answer");
    if (old >= 0) queue.splice(old, 1);
    queue.push(message);
    next();
  }

  function next() {
    if (waiting || !queue.length) return;
    const message = queue.shift();
    count += 1;
    const id = `${own}-${count}`;
    waiting = { id, patience: setTimeout(() => tell(UNSAVED, true), DESK_PATIENCE) };
    if (parts) parts.end.wish(message.do);
    model.send({ id, ...message });
  }

  function answered() {
    const answer = model.get("answer");
    if (!answer || answer.id === "" || answer.id === undefined) return answer && answer.text ? tell(answer.text, !answer.ok) : undefined;
    if (!waiting || answer.id !== waiting.id) return undefined;
    clearTimeout(waiting.patience);
    waiting = null;
    update();
    tell(answer.text, !answer.ok);
    const all = model.get("card").fields;
    // Where the answers cell says something else, the field says so all the time, and what to do.
    if (answer.check) for (const field of fields) field.urge((answer.check.find((row) => row.label === field.label && !row.differs) || { text: "" }).text);
    if (answer.check) update();
    parts.end.answered(answer, all);
    return next();
  }

  function build() {
    const card = model.get("card");
    const pending = { log: null };
    fields = card.fields.map((spec, i) => makeField(spec, i + 1, send, tell));
    const evidence = card.fields.find((f) => f.kind === "lines");
    pending.log = makeReportLog({ onPick: (lines) => send({ do: "answer", label: evidence.label, lines }) });
    const notes = el("textarea", { id: freshId("notes"), class: "ts-field ts-notes", rows: 4, placeholder: "Readings to remember, questions to the owner …" });
    notes.addEventListener("change", () => {
      if (notes.value.length > MOST_NOTED) {
        tell(`That is ${notes.value.length.toLocaleString("en")} characters. Notes take ${MOST_NOTED.toLocaleString("en")}. They were left as they were before.`, true);
        notes.value = model.get("state").notes;
      } else send({ do: "notes", text: notes.value });
    });
    const clock = el("span", { class: "ts-desk-time" });
    const facts = [...card.order.plate, ...card.order.site];
    const number = el("p", { class: "ts-card-number" }, el("span", { text: "Work order" }), el("b", { text: card.order.id }));
    const head = el("header", { class: "ts-desk-card" },
      el("div", { class: "ts-card-main" }, number, el("h3", { text: card.order.title }), el("blockquote", { class: "ts-card-words", text: card.order.complaint })),
      el("div", { class: "ts-card-clock" }, el("span", { class: "ts-hint", text: "time on the job" }), clock),
      el("details", { class: "ts-card-facts" }, el("summary", { text: "Data plate and site" }),
        el("dl", { class: "ts-card-rows" }, ...facts.map(([a, b]) => el("div", {}, el("dt", { text: a }), el("dd", { text: b }))))),
      ...card.order.notes.map((text) => el("p", { class: "ts-card-note", text })));
    const end = makeEnd({ practice: card.practice, next: card.next, onAct: send, onGo: (label) => (label === evidence.label ? pending.log.list : fields.find((f) => f.label === label)).focus() });
    const left = el("div", { class: "ts-desk-left" }, pending.log.node,
      el("div", { class: "ts-notes-box" }, el("label", { class: "ts-field-title", for: notes.id, text: "Your notes" }), notes, el("p", { class: "ts-hint", text: "For yourself. Nobody marks them." })));
    const report = el("section", { class: "ts-report" }, el("h4", { text: "Service report" }), ...fields.map((f) => f.node));
    sheet.replaceChildren(head, el("div", { class: "ts-desk-body" }, left, report), end.node);
    parts = { log: pending.log, notes, clock, end, evidence };
    update();
  }

  function update() {
    const state = model.get("state");
    const unsent = new Set(queue.map((m) => m.label));
    setText(parts.clock, timeOnJob(state.clock));
    for (const field of fields) if (!unsent.has(field.label)) field.update(state.values[field.label], state.log);
    parts.log.update(state.log, unsent.has(parts.evidence.label) ? null : state.values[parts.evidence.label].lines);
    if (document.activeElement !== parts.notes && parts.notes.value !== state.notes && !queue.some((m) => m.do === "notes")) parts.notes.value = state.notes;
    parts.end.update(state, model.get("card").fields);
  }

  root.addEventListener("keydown", (event) => event.stopPropagation()); // not for the notebook's one-letter commands
  build();
  return { root, update, answered, close: () => waiting && clearTimeout(waiting.patience), busy: () => Boolean(waiting) };
}

function render({ model, el: host }) {
  const desk = makeReportDesk(model);
  const stopTheme = followTheme(desk.root, host);
  host.append(desk.root);
  const onState = () => desk.busy() || desk.update();
  model.on("change:state", onState);
  model.on("change:answer", desk.answered);
  return () => {
    model.off("change:state", onState);
    model.off("change:answer", desk.answered);
    stopTheme();
    desk.close();
  };
}

function timeOnJob(minutes) {
  const whole = Math.floor(minutes + 1e-9);
  const seconds = Math.round((minutes - whole) * 60);
  const hours = Math.floor(whole / 60);
  return `${hours ? `${hours} h ` : ""}${whole % 60} min${seconds ? ` ${seconds} s` : ""}`;
}

export default { render };
