// The bench's entry: puts a desk into the notebook's cell and keeps it drawn.
import { makeDesk } from "./desk.js";
import { followTheme } from "./theme.js";

function render({ model, el: host }) {
  const desk = makeDesk(model);
  const stopTheme = followTheme(desk.root, host); // before it is shown: it must not flash the other theme
  host.append(desk.root);
  const onView = () => {
    desk.take();
    desk.waiting() || desk.render(false); // an answer comes in the same update
  };
  const onAnswer = () => desk.answered();
  model.on("change:view", onView);
  model.on("change:step", onView);
  model.on("change:answer", onAnswer);
  const resized = new ResizeObserver(() => (desk.measure() ? desk.render(false) : desk.cables()));
  resized.observe(desk.root);
  resized.observe(desk.sheet);
  resized.observe(desk.heaterSheet);
  let asked = false;
  const onScroll = () => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => {
      asked = false;
      desk.cables();
    });
  };
  document.addEventListener("scroll", onScroll, { capture: true, passive: true });
  desk.render(false);
  return () => {
    model.off("change:view", onView);
    model.off("change:step", onView);
    model.off("change:answer", onAnswer);
    document.removeEventListener("scroll", onScroll, { capture: true });
    resized.disconnect();
    stopTheme();
    desk.close();
  };
}

export default { render };
