// The view as the screen knows it: taken whole when a page opens, then kept up to date by the changes that Python sends.

export function makeView(model, askWhole) {
  let shown = model.get("view");

  function take() {
    const whole = model.get("view");
    if (whole !== shown && !((whole.stamp ?? 0) < (shown.stamp ?? 0))) shown = whole;
    const step = model.get("step");
    if (!step || step.stamp === undefined || step.stamp <= (shown.stamp ?? 0)) return;
    if (step.base !== shown.stamp) return askWhole();
    shown = applied(shown, step);
    model.set("view", shown); // for another picture of the same bench on this page; nothing is sent
  }

  return { take, now: () => shown };
}

// A copy with the changes made; what hasn't changed is shared.
export function applied(view, step) {
  let out = { ...view, stamp: step.stamp, log: [...view.log, ...step.lines] };
  for (const [path, value] of step.changes) out = changed(out, path, 0, value);
  return out;
}

function changed(node, path, k, value) {
  if (k === path.length) return value;
  const twin = Array.isArray(node) ? [...node] : { ...node };
  twin[path[k]] = changed(node[path[k]], path, k + 1, value);
  return twin;
}
