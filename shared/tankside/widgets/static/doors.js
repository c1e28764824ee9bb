// Every place as one stands before it: what is there, with its cover on or off. Each part is a button that picks it.
import { makeColumns } from "./columns.js";
import { button, el, keyed, minutesText, setAttribute, setReason, setText, svg } from "./dom.js";
import { handleOf, strokesOf } from "./kinds.js";

export function makeDoors({ onPick, onAction }) {
  const node = el("div", { class: "ts-doors" });
  const arrangeDoors = makeColumns(node, 190, 8, ({ parts }, wide) => 44 + 70 * Math.ceil(Math.max(parts, 1) / Math.max(1, Math.floor((wide - 12) / 88))));

  function makeDoor(place) {
    const title = el("h4", { text: place.name });
    const cover = button({ class: "ts-button ts-door-cover" }, el("span", { class: "ts-what" }), el("span", { class: "ts-cost" }));
    cover.addEventListener("click", () => onAction(cover.getAttribute("aria-disabled") === "true" ? { blocked: cover.title } : cover.now));
    const parts = el("ul", { class: "ts-door-parts" });
    const plate = el("div", { "class": "ts-door-plate", "aria-hidden": "true" }, el("i"), el("i"), el("i"), el("i"), el("span", { text: "cover is on" }));
    return el("section", { "class": "ts-door", "aria-label": place.name }, el("header", {}, title, cover), el("div", { class: "ts-door-body" }, parts, plate));
  }

  function patchDoor(door, place, view, picked) {
    const cover = door.querySelector(".ts-door-cover");
    cover.hidden = !place.cover;
    door.classList.toggle("ts-shut", place.cover && !place.open);
    if (place.cover) {
      const verb = place.open ? "close cover" : "open cover";
      cover.now = { verb, args: { place: place.id } };
      setText(cover.querySelector(".ts-what"), place.open ? "Cover back on" : "Cover off");
      setText(cover.querySelector(".ts-cost"), minutesText((view.costs || {})[verb]));
      setAttribute(cover, "aria-label", `${place.open ? "Cover back on" : "Cover off"}: ${place.name}`);
      setReason(cover, view.stopped ? "The bench is stopped. Make safe first." : "");
    }
    const shown = view.parts.filter((p) => p.place === place.id && (place.open || outside(p, view)));
    const list = door.querySelector(".ts-door-parts");
    keyed(list, shown, (p) => p.id, makePart, (item, part) => patchPart(item.firstChild, part, view, picked));
    list.hidden = !shown.length; // a list without items is no list
  }

  function makePart(part) {
    const drawing = svg("svg", { "viewBox": "0 0 48 36", "width": 48, "height": 36, "aria-hidden": "true", "focusable": "false" }, svg("path", { class: "ts-icon", d: "" }), svg("circle", { class: "ts-lamp", cx: 43, cy: 6, r: 4 }));
    const pick = button({ class: "ts-part-pick" }, drawing, el("span", { class: "ts-part-label", text: part.name }), el("span", { class: "ts-part-state" }));
    pick.addEventListener("click", () => onPick(part.id));
    return el("li", {}, pick);
  }

  function patchPart(pick, part, view, picked) {
    setAttribute(pick, "aria-pressed", part.id === picked ? "true" : "false");
    pick.dataset.part = part.id;
    const hand = view.switches.find((s) => s.id === part.id);
    const lamp = (view.scene.lamp || {})[part.id];
    const place = hand && hand.position ? (hand.position === hand.positions[0] ? "made" : hand.position === "tripped" ? "tripped" : "broken") : "made";
    setAttribute(pick.querySelector(".ts-icon"), "d", (hand && handleOf(part.type, place)) || strokesOf(part.type));
    const light = pick.querySelector(".ts-lamp");
    light.classList.toggle("ts-there", lamp !== undefined);
    light.classList.toggle("ts-lit", Boolean(lamp));
    const words = hand && hand.position ? [hand.position] : [];
    if (hand && hand.locked) words.push("locked");
    if (lamp !== undefined) words.push(lamp ? "lamp lit" : "lamp dark");
    setText(pick.querySelector(".ts-part-state"), words.join(", "));
  }

  return {
    node,
    update(view, picked) {
      const places = view.places.map((p) => ({ ...p, parts: view.parts.filter((part) => part.place === p.id).length }));
      arrangeDoors(places, (p) => p.id, makeDoor, (door, place) => patchDoor(door, place, view, picked));
    },
  };
}

// A switch whose handle stands out of its cover is seen, and worked, with the cover on.
function outside(part, view) {
  const hand = view.switches.find((s) => s.id === part.id);
  return Boolean(hand && hand.outside);
}
