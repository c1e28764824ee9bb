// A small drawing for each topic of practice. Beside its name; it never stands alone.
import { svg } from "./dom.js";

const TOPIC_LINES = {
  mains: ["M5 21 H19 V27 H5 Z", "M9 21 V15 M15 21 V15", "M12 27 V31", "M12 3 L8.5 9.5 H13.5 L10.5 14"],
  dc: ["M3 13 H21 V27 H3 Z", "M7 13 V9 M17 13 V9", "M5.6 18 H9.4 M7.5 16.1 V19.9", "M14.6 18 H18.4"],
  ignition: ["M8 31 V20 M16 31 V20", "M8 20 L10 17 M16 20 L14 17", "M12 5 V9 M5 9 L8 11.5 M19 9 L16 11.5 M4 15 H7 M17 15 H20"],
  gas: ["M6 12 Q6 9 9 9 H15 Q18 9 18 12 V29 Q18 31 16 31 H8 Q6 31 6 29 Z", "M10 9 V5 H14 V9", "M6 17 H18"],
  flame: ["M12 4 C17 10 19 14 19 20 A7 7 0 0 1 5 20 C5 15 8 13 9 9 C10.5 11 11 12 11.5 14 C13 11 13 8 12 4 Z", "M4 31 H20"],
  water: ["M12 4 C16 11 19 15 19 20 A7 7 0 0 1 5 20 C5 15 8 11 12 4 Z", "M4 30 Q8 27.5 12 30 T20 30"],
  anode: ["M8 4 H16 V8 H8 Z", "M9.5 8 V17 Q11 19 10 22 Q9.5 25 11.5 29 H13 Q14 25 13.6 22 Q13.2 19 14.5 16 V8", "M4 13 L6 14 M20 19 L18 18 M4 24 L6.5 23"],
};

export function topicMark(topic) {
  return svg("svg", { "viewBox": "0 0 24 34", "class": "ts-topic-mark", "aria-hidden": "true", "focusable": "false" },
    ...(TOPIC_LINES[topic] || []).map((d) => svg("path", { d })));
}

// How far a thing is: five steps, filled up to the box that it is in. In words for who can't see it.
export function boxSteps(box, most, state, words) {
  const steps = svg("svg", { "viewBox": `0 0 ${most * 13} 10`, "class": `ts-box-steps ts-state-${state}`, "role": "img", "aria-label": words });
  for (let i = 0; i < most; i += 1) steps.append(svg("rect", { x: i * 13 + 1, y: 1, width: 10, height: 8, rx: 1.5, class: i < box ? "ts-step-on" : "ts-step-off" }));
  return steps;
}
