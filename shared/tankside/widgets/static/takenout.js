// What was taken out of the tank and looked at, drawn as it was found, with the minute of the log; in words, what a close
// look at burner and flue showed.
import { el, keyed, setText, svg } from "./dom.js";

const LONG = 190;

export function makeTakenOut() {
  const drawing = svg("svg", { "width": LONG + 50, "height": 46, "viewBox": `0 0 ${LONG + 50} 46`, "aria-hidden": "true", "focusable": "false" });
  const head = svg("path", { class: "ts-sketch-line ts-filled", d: "M4 10h12v26H4zM16 16h10v14H16z" });
  const core = svg("rect", { class: "ts-rod-core", x: 26, y: 21.5, width: LONG, height: 3 });
  const rod = svg("rect", { class: "ts-rod", x: 26, y: 11, width: LONG - 6, height: 24, rx: 4 });
  rod.style.transformOrigin = "0 23px";
  drawing.append(head, core, rod);
  const words = el("p");
  const rodBox = el("div", { class: "ts-taken" }, drawing, words);
  const lampWords = el("p");
  const lampBox = el("div", { class: "ts-taken" }, lampWords);
  const looks = el("div", {});
  const node = el("div", { class: "ts-taken-out", hidden: true }, rodBox, lampBox, looks);

  return {
    node,
    update(view, inside) {
      const { rod: found, lamp_in_tank: lamp, measures } = view.scene;
      const looked = Object.entries((inside || view.scene).looked_at || {});
      node.hidden = !found && !lamp && !looked.length;
      keyed(looks, looked, ([part]) => part, () => el("p"), (p, [part, { at, words }]) => {
        const { name } = view.parts.find((other) => other.id === part) || { name: part };
        setText(p, `${name.charAt(0).toUpperCase()}${name.slice(1)}, ${at === undefined ? "inside now" : `seen at ${Math.round(at)} min`}: ${words.join(", ")}.`);
      });
      rodBox.hidden = !found;
      lampBox.hidden = !lamp;
      if (found) {
        const whole = measures.rod ? measures.rod.radius * 2000 : found.across || 1;
        const share = found.rod && found.across ? Math.min(1, found.across / whole) : 0;
        rod.style.transform = `scaleY(${found.core ? 0 : share})`;
        rod.classList.toggle("ts-skin", Boolean(found.skin));
        core.style.opacity = found.rod ? 1 : 0;
        const state = found.rod ? `${found.told}; new ${measures.rod_new}` : found.told;
        setText(words, `Anode as it came out at ${Math.round(found.at)} min: ${state}.`);
      }
      if (lamp) {
        setText(lampWords, `Seen in the tank at ${Math.round(lamp.at)} min: ${lamp.told}.`);
      }
    },
  };
}
