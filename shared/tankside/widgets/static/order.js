// The work order: what the owner says, the data plate, the site; and the clock.
import { el, keyed, setText } from "./dom.js";

export function makeOrder() {
  const number = el("span", { class: "ts-order-id" });
  const complaint = el("blockquote", { class: "ts-complaint" });
  const plate = el("dl", { class: "ts-facts" });
  const site = el("dl", { class: "ts-facts" });
  const clock = el("span", { class: "ts-clock" });
  const node = el("header", { class: "ts-order" },
    el("div", { class: "ts-order-main" }, el("p", { class: "ts-order-line" }, "Work order ", number), complaint),
    el("div", { class: "ts-clock-box" }, el("span", { class: "ts-clock-word", text: "time on the job" }), clock),
    el("details", { class: "ts-plate" }, el("summary", { text: "Data plate and site" }), el("div", { class: "ts-plate-body" }, plate, site)),
  );

  function facts(list, rows) {
    keyed(list, rows, (row) => row[0], (row) => el("div", {}, el("dt", { text: row[0] }), el("dd")), (item, row) => setText(item.lastChild, row[1]));
  }

  return {
    node,
    update(view) {
      setText(number, view.order.id);
      setText(complaint, view.order.complaint);
      facts(plate, view.order.plate || []);
      facts(site, [...(view.order.site || []), ...(view.water ? [["tank", view.water.text]] : [])]);
      setText(clock, clockText(view.clock));
    },
  };
}

export function clockText(minutes) {
  const whole = Math.floor(minutes + 1e-9);
  const rest = Math.round((minutes - whole) * 60);
  const hours = Math.floor(whole / 60);
  const two = (n) => String(n).padStart(2, "0");
  return `${hours ? `${hours} h ` : ""}${hours ? two(whole % 60) : whole} min${rest ? ` ${two(rest)} s` : ""}`;
}
