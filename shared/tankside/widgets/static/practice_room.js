// The practice room's counter: choose a topic and how hard it may be; while a call-out is open, hints and "why not?".
import { button, el, freshId, setAttribute, setText } from "./dom.js";
import { makePickList } from "./picklist.js";
import { followTheme } from "./theme.js";
import { boxSteps, topicMark } from "./topic_marks.js";

const ROOM_PATIENCE = 90000;
const HINT_WORDS = { 1: "What does the complaint tell me?", 2: "Where should the next test split it?", 3: "Which test, and what would it show?" };
const STATE_WORDS = { new: "not tried yet", missed: "missed last time", holds: "holds", fades: "fades", mastered: "mastered" };

function makeRoom(model) {
  const own = Math.random().toString(36).slice(2, 8);
  const say = el("p", { "class": "ts-room-say", "role": "status", "aria-live": "polite" });
  const body = el("div", { class: "ts-room-body" });
  const root = el("section", { "class": "ts-root ts-room", "aria-label": "Practice room", "data-lm-suppress-shortcuts": "true" }, body, say);
  const chosen = { topic: null, level: null };
  let count = 0;
  let waiting = null;
  let shown = null;
  let why = null;

  function send(message) {
    if (waiting) return tell("One moment: the last wish is still being worked on.");
    count += 1;
    waiting = { id: `${own}-${count}`, patience: setTimeout(() => tell("The notebook has not answered yet. If it was restarted, run the cells above again: your call-out is kept."), ROOM_PATIENCE) };
    root.classList.add("ts-busy");
    return model.send({ id: waiting.id, ...message });
  }

  function tell(text) {
    setText(say, text);
    say.classList.toggle("ts-calm", Boolean(text));
  }

  function answered() {
    const answer = model.get("answer");
    if (!waiting || !answer || answer.id !== waiting.id) return;
    clearTimeout(waiting.patience);
    waiting = null;
    root.classList.remove("ts-busy");
    update();
    tell(answer.text || model.get("room").trouble);
  }

  function update() {
    const room = model.get("room");
    const key = room.open ? room.open.order : "choice";
    if (room.busy) return setText(say, room.busy);
    const moved = shown !== null && shown !== key;
    if (key !== shown) body.replaceChildren(...(room.open ? working(room) : choosing(room)));
    shown = key;
    if (room.open) patchWorking(room.open);
    else patchChoosing(room);
    if (moved) {
      const head = body.querySelector("h3");
      head.focus({ preventScroll: true });
      root.scrollIntoView({ block: "start" });
    }
    if (room.trouble && !say.textContent) tell(room.trouble);
    return undefined;
  }

  // ---- choosing

  function choosing(room) {
    const first = room.suggest;
    chosen.topic = chosen.topic || (first && first.topic);
    chosen.level = chosen.level || (first && first.level) || 1;
    const topicName = freshId("topic");
    const cards = room.topics.map((topic) => {
      const pick = el("input", { type: "radio", name: topicName, value: topic.id, disabled: !topic.ready, checked: topic.id === chosen.topic });
      pick.addEventListener("change", () => {
        chosen.topic = topic.id;
      });
      return el("label", { "class": "ts-topic", "data-topic": topic.id }, pick, topicMark(topic.id),
        el("span", { class: "ts-topic-words" }, el("b", { text: topic.name }), el("span", { class: "ts-topic-about", text: topic.about }), el("span", { class: "ts-topic-size" })),
        el("span", { class: "ts-topic-levels" }));
    });
    const levelName = freshId("level");
    const levels = room.levels.map((row) => {
      const pick = el("input", { type: "radio", name: levelName, value: row.level, checked: row.level === chosen.level });
      pick.addEventListener("change", () => {
        chosen.level = row.level;
      });
      return el("label", { class: "ts-hardness" }, pick, el("span", { text: row.name }));
    });
    const go = button({ class: "ts-button ts-main ts-go", onclick: () => send({ do: "start", topic: chosen.topic, level: chosen.level }) }, el("span", { class: "ts-what", text: "Start a call-out" }));
    const next = el("div", { class: "ts-next", hidden: !first });
    if (first) {
      next.append(el("div", {}, el("p", { class: "ts-next-word", text: "Next for you" }), el("p", { class: "ts-next-name", text: first.name }), el("p", { class: "ts-hint", text: first.why })),
        button({ class: "ts-button ts-main", onclick: () => send({ do: "start", topic: first.topic, level: first.level }) }, el("span", { class: "ts-what", text: "Start this one" })));
    }
    return [
      el("h3", { tabindex: "-1", text: "Practice room" }), next,
      el("fieldset", { class: "ts-topics" }, el("legend", { text: next.hidden ? "Choose a topic" : "Or choose a topic" }), el("div", { class: "ts-topic-grid" }, ...cards)),
      el("div", { class: "ts-room-go" }, el("fieldset", { class: "ts-levels" }, el("legend", { text: "How hard" }), el("div", { class: "ts-level-row" }, ...levels)), go),
      el("p", { class: "ts-hint", text: "Every call-out is drawn fresh and proven solvable at the bench. The five steps beside a topic show how well it holds." }),
    ];
  }

  function patchChoosing(room) {
    for (const topic of room.topics) {
      const card = body.querySelector(`[data-topic="${topic.id}"]`);
      if (!card) continue;
      card.classList.toggle("ts-unready", !topic.ready);
      setText(card.querySelector(".ts-topic-size"), topic.size);
      setAttribute(card.querySelector("input"), "disabled", !topic.ready);
      card.querySelector(".ts-topic-levels").replaceChildren(...topic.levels.map((row) => {
        const name = room.levels.find((l) => l.level === row.level).name;
        return el("span", { class: "ts-topic-level" }, el("span", { "class": "ts-level-name", "aria-hidden": "true", "text": name }), boxSteps(row.box, room.boxes, row.state, `${name}: ${STATE_WORDS[row.state]}, step ${row.box} of ${room.boxes}`));
      }));
    }
  }

  // ---- working

  function working(room) {
    const { open } = room;
    const hints = el("div", { class: "ts-hints" }, ...Object.entries(HINT_WORDS).map(([level, text]) => {
      const out = el("p", { "class": "ts-hint-text", "data-level": level, "hidden": true });
      return el("div", { class: "ts-hint-row" }, button({ class: "ts-button", onclick: () => send({ do: "hint", level: Number(level) }) }, el("span", { class: "ts-what", text }), el("span", { class: "ts-cost", text: `hint ${level}` })), out);
    }));
    why = makePickList({ label: "Why can't it be …", placeholder: "type a fault", onPick: (fault) => fault.trim() && send({ do: "why", fault }) });
    why.fill(open.faults);
    why.update(open.why ? open.why.fault : "");
    return [
      el("div", { class: "ts-room-head" },
        el("div", {}, el("p", { class: "ts-next-word", text: `Practice · ${open.topic_name} · ${open.level_name.toLowerCase()}` }), el("h3", { tabindex: "-1", text: `Call-out ${open.number}` })),
        button({ class: "ts-button ts-leave", onclick: () => send({ do: "leave" }) }, el("span", { class: "ts-what", text: "Choose another topic" }))),
      el("p", { class: "ts-room-way", text: "Work at the bench below. Under it lies the service report: fill it in, then finish the call-out to see your marks." }),
      el("details", { class: "ts-room-help" }, el("summary", { text: "Stuck? Hints, and “why not?”" }),
        el("div", { class: "ts-help-grid" },
          el("div", {}, el("h4", { text: "Hints, one more at a time" }), hints, el("p", { class: "ts-hint", text: "With the third hint the call-out still teaches, but it doesn't move you on." })),
          el("div", {}, el("h4", { text: "Why not?" }), el("label", { class: "ts-why-label", for: why.field.id, text: "Why can't it be …" }), why.node, el("p", { class: "ts-why-text", role: "status" })))),
    ];
  }

  function patchWorking(open) {
    for (const out of body.querySelectorAll(".ts-hint-text")) {
      const given = open.hints.find((hint) => String(hint.level) === out.dataset.level);
      out.hidden = !given;
      setText(out, given ? given.text : "");
    }
    setText(body.querySelector(".ts-why-text"), open.why ? open.why.text : "");
    setText(body.querySelector(".ts-leave .ts-what"), open.finished ? "Choose the next one" : "Choose another topic");
  }

  root.addEventListener("keydown", (event) => event.stopPropagation());
  update();
  return { root, update: () => waiting && !model.get("room").busy ? undefined : update(), answered, close: () => waiting && clearTimeout(waiting.patience) };
}

function render({ model, el: host }) {
  const room = makeRoom(model);
  const stopTheme = followTheme(room.root, host);
  host.append(room.root);
  model.on("change:room", room.update);
  model.on("change:answer", room.answered);
  return () => {
    model.off("change:room", room.update);
    model.off("change:answer", room.answered);
    stopTheme();
    room.close();
  };
}

export default { render };
